"""May two instruments stand in for each other? Mean difference, its interval, limits of agreement."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.metrology import (
    DemingLine,
    ExcessSpread,
    PairedDifference,
    deming_line,
    excess_spread,
    paired_difference,
)
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.comparisons.pairs import Pair
from isohume.outlets.site.register.models import Product

LEAST = 3
FEW = 8  # no source: fewer pairs give intervals too wide to decide anything by


@dataclass(frozen=True, slots=True)
class Agreement:
    """What the pairs say, and the answer in words with its reasons."""

    paired: PairedDifference
    line: DemingLine | None
    spread: ExcessSpread | None
    allowed: float
    answer: str
    stand_in: bool
    shape: str
    reasons: tuple[str, ...]


def stated_s_r(product: Product | None) -> str:
    """The repeatability that the product's method states now; without one product there is none to take."""
    version = product.method.current if product else None
    budget = version.budget if version else None
    return str(budget.s_r) if budget else ""


def agreement_of(pairs: Sequence[Pair], allowed: float, s_r: str) -> Agreement:
    """The comparison of at least three pairs.

    allowed: how far the instruments may differ on average, the laboratory's own number. s_r: repeatability of a single
    reading as stated, blank where none is.
    """
    if len(pairs) < LEAST:
        raise InputError("pairs", f"{len(pairs)} pairs", f"at least {LEAST} materials read on both instruments")
    first, second = [p.first for p in pairs], [p.second for p in pairs]
    paired = paired_difference(first, second)
    spread = excess_spread(paired.s, paired.n, *_s_r_of_means(pairs, float(s_r))) if s_r else None
    answer, stand_in, shape = _answer(paired, allowed)
    return Agreement(
        paired, _line(first, second), spread, allowed, answer, stand_in, shape, tuple(_reasons(paired, spread, allowed))
    )


def _answer(paired: PairedDifference, allowed: float) -> tuple[str, bool, str]:
    """The whole interval of the mean difference must lie within what is allowed: not seen is not ruled out."""
    if max(abs(paired.low), abs(paired.high)) <= allowed:
        return "They may stand in for each other", True, "pass"
    if abs(paired.mean) > allowed:
        return "They may not stand in for each other", False, "fail"
    return "Not shown yet: the interval reaches beyond what is allowed", False, "wait"


def _reasons(paired: PairedDifference, spread: ExcessSpread | None, allowed: float) -> list[str]:
    seen = "is seen" if paired.p_value < 0.05 else "is not seen"
    found = [
        f"Mean difference {signed(paired.mean)}, 95 % interval {signed(paired.low)} to {signed(paired.high)}; allowed "
        f"{allowed:.4f} either way. A difference {seen} (t = {signed(paired.t, 2)}, p {p_words(paired.p_value)}).",
        f"Nineteen of twenty single comparisons lie between {signed(paired.agreement_low)} and "
        f"{signed(paired.agreement_high)}.",
    ]
    if paired.n < FEW:
        found.append(f"Only {paired.n} pairs: read {FEW} materials or more on both before you rely on it.")
    if spread is not None and spread.exceeds:
        found.append(
            f"The differences scatter more (s {spread.s:.4f}) than repeatability explains ({spread.expected:.4f}): the "
            "difference depends on the product, or on how the portions were shared."
        )
    return found


def _line(first: list[float], second: list[float]) -> DemingLine | None:
    """None where the materials are too few or too much alike to show a line."""
    try:
        return deming_line(first, second)
    except InputError:
        return None


def _s_r_of_means(pairs: Sequence[Pair], s_r: float) -> tuple[float, float]:
    shares = [
        sum(1 / n for n in counts) / len(pairs)
        for counts in zip(*((p.n_first, p.n_second) for p in pairs), strict=True)
    ]
    return s_r * math.sqrt(shares[0]), s_r * math.sqrt(shares[1])


def signed(value: float, decimals: int = 4) -> str:
    """A difference with its sign."""
    return f"{value:+.{decimals}f}".replace("-", "\N{MINUS SIGN}")


def p_words(p: float) -> str:
    """A probability of a test, never rounded to nothing."""
    return "< 0.001" if p < 0.001 else f"= {p:.3f}"

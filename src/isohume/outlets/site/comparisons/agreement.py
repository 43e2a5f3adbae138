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
NO_SCATTER = 1e-9  # what floats leave of decimals that differ by the same amount
FURTHEST = 2  # no source: limits of agreement, in terms of what is allowed for the mean
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
    line = _line(first, second)
    against = [*_at_the_ends(line, first, allowed), *_scatter(paired, spread, allowed)]
    answer, stand_in, shape = _answer(paired, allowed, bool(against))
    reasons = (*_reasons(paired, allowed), *against)
    return Agreement(paired, line, spread, allowed, answer, stand_in, shape, reasons)


def _answer(paired: PairedDifference, allowed: float, against: bool) -> tuple[str, bool, str]:
    """The whole interval of the mean difference must lie within what is allowed: not seen is not ruled out.

    A mean hides what single materials show: where anything speaks against it, they do not stand in.
    """
    if abs(paired.mean) > allowed:
        return "They may not stand in for each other", False, "fail"
    if max(abs(paired.low), abs(paired.high)) > allowed:
        return "Not shown yet: the interval reaches beyond what is allowed", False, "wait"
    if paired.s < NO_SCATTER and paired.n < FEW:
        return "Not shown yet: so few pairs show no scatter", False, "wait"
    if against:
        return "They may not stand in for each other: alike on average, not one by one", False, "fail"
    return "They may stand in for each other", True, "pass"


def _at_the_ends(line: DemingLine | None, first: Sequence[float], allowed: float) -> list[str]:
    """A difference that grows along the scale is nothing on average and too much at an end."""
    if line is None:
        return []
    ends = [(value, line.difference_at(value)[0]) for value in (min(first), max(first))]
    worst, difference = max(ends, key=lambda end: abs(end[1]))
    if abs(difference) <= allowed:
        return []
    return [f"By the line through the pairs they differ by {signed(difference)} at {worst:.4f}: more than allowed."]


def _scatter(paired: PairedDifference, spread: ExcessSpread | None, allowed: float) -> list[str]:
    """Whether single readings agree: against the stated repeatability, without one against what is allowed."""
    if paired.s < NO_SCATTER and paired.n < FEW:
        return [f"All {paired.n} pairs differ by the same amount: too few, or read too coarsely, to show a scatter."]
    if spread is not None:
        said = (
            f"The differences scatter more (s {spread.s:.4f}) than repeatability explains ({spread.expected:.4f}): the "
            "difference depends on the product, or on how the portions were shared."
        )
        return [said] if spread.exceeds else []
    reach = max(abs(paired.agreement_low), abs(paired.agreement_high))
    if reach <= FURTHEST * allowed:
        return []
    said = f"No repeatability is stated, and single comparisons differ by up to {reach:.4f}"
    return [f"{said}: more than {FURTHEST} times what is allowed on average."]


def _reasons(paired: PairedDifference, allowed: float) -> list[str]:
    seen = "is seen" if paired.p_value < 0.05 else "is not seen"
    scatters = paired.s >= NO_SCATTER
    by = f"t = {signed(paired.t, 2)}, p {p_words(paired.p_value)}" if scatters else "the same in every pair"
    found = [
        f"Mean difference {signed(paired.mean)}, 95 % interval {signed(paired.low)} to {signed(paired.high)}; allowed "
        f"{allowed:.4f} either way. A difference {seen} ({by}).",
        f"Nineteen of twenty single comparisons lie between {signed(paired.agreement_low)} and "
        f"{signed(paired.agreement_high)}.",
    ]
    if paired.n < FEW:
        found.append(f"Only {paired.n} pairs: read {FEW} materials or more on both before you rely on it.")
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

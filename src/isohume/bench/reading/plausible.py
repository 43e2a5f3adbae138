"""Plausibility from the product's own history: a hint that a value was mistyped or belongs to another product.

The history's centre is the median and its scatter the scaled median absolute deviation: a history holds the very
slips this hint is to find, and one 0.618 typed for 0.681 would widen a standard deviation until it hides the next.
A hint refuses nothing and changes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from typing import Literal

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal

Z_LIMIT = 4.0
"""Beyond it a value is called not plausible (the trade's practice, no source)."""
LEAST_LOTS = 8
"""Below it the scatter of a history is itself too uncertain to judge by (common practice, no source)."""
S_FLOOR = 0.003
"""No history scatters less than the instrument can tell (usual figure of a dew-point instrument, no source)."""
MAD_TO_S = 1.4826
"""1 / 0.67449, the upper quartile of the standard normal: makes the MAD of normal values estimate their s."""
MOST_NAMED = 3
LONGEST_HINT = 300

PlausibleWords = Literal["plausible", "not plausible", "not judged"]


@dataclass(frozen=True, slots=True)
class History:
    """What a product's lots have read: how many, where their middle lies, how far they scatter, what else to say."""

    n: int
    centre: float
    s: float
    label: str = ""  # such as: 26 of them historical, unverified

    def __post_init__(self) -> None:
        if self.n < 1:
            raise InputError("history.n", self.n, "at least one lot")
        if not (math.isfinite(self.centre) and math.isfinite(self.s) and self.s >= 0):
            raise InputError("history", f"{self.centre} with s {self.s}", "finite numbers, s zero or more")

    @classmethod
    def of(cls, values: Iterable[float | Decimal], label: str = "") -> History:
        """The history of one value a lot: median, and 1.4826 times the median absolute deviation from it."""
        found = [float(value) for value in values]
        if not found:
            raise InputError("history", "no values", "at least one value")
        if not all(map(math.isfinite, found)):
            raise InputError("history", "a value that is not finite", "finite values")
        centre = _median(found)
        return cls(len(found), centre, MAD_TO_S * _median([abs(value - centre) for value in found]), label)


@dataclass(frozen=True, slots=True)
class Plausibility:
    """What the history says about a value, which other products it fits, what it may have been, and why."""

    words: PlausibleWords
    fits: tuple[str, ...]
    reasons: tuple[str, ...]
    z: float | None = None
    would_fit: tuple[Decimal, ...] = ()

    @property
    def hint(self) -> str:
        """The hint as one line of at most 300 characters, empty where there is nothing to look at."""
        if self.words != "not plausible":
            return ""
        line = " ".join(self.reasons)
        return line if len(line) <= LONGEST_HINT else f"{line[: LONGEST_HINT - 1]}…"


@dataclass(frozen=True, slots=True)
class _Yardstick:
    z_limit: float
    least_lots: int
    s_floor: float

    def z(self, value: Decimal, history: History) -> float:
        return (float(value) - history.centre) / max(history.s, self.s_floor)

    def fits(self, value: Decimal, history: History) -> bool:
        return history.n >= self.least_lots and abs(self.z(value, history)) <= self.z_limit

    def unlikely(self, value: Decimal, history: History) -> float:
        """Less the logarithm of the normal likelihood: a product that scatters widely explains everything poorly."""
        z = self.z(value, history)
        return 0.5 * z * z + math.log(max(history.s, self.s_floor))


def judge_plausible(
    a_w: Decimal | str,
    product: str,
    history: Mapping[str, History],
    z_limit: float = Z_LIMIT,
    least_lots: int = LEAST_LOTS,
    s_floor: float = S_FLOOR,
) -> Plausibility:
    """Whether a value is what this product usually reads; if not, which sibling or which slip would explain it.

        z = (a_w - centre) / max(s, s_floor);  not plausible where |z| > z_limit
    a_w: the value as typed [1], so that its digits can be looked at; 68.1 is looked at as ERH in percent.
    product: the product it was entered for [text].
    history: product -> its History, the product's own and its siblings' [1].
    z_limit: the greatest |z| called plausible [1], greater than zero.
    least_lots: the fewest lots a history is judged by [1], at least 2.
    s_floor: the smallest scatter a history is given [1], greater than zero.
    Returns: the Plausibility [text]: a hint, never a refusal; `fits` names at most three siblings, likeliest first.
    Raises: InputError for a value that is no number, or limits that make no sense.
    Example: 0.618 for a product of usual 0.681 -> "not plausible", 0.681 would fit with two digits swapped.
    Source: none (z above 4 is the trade's practice; median and MAD so that slips in the history do not hide others).
    """
    value = read_decimal(a_w, "a_w")
    yardstick = _checked(z_limit, least_lots, s_floor)
    own = history.get(product)
    if own is None or own.n < least_lots:
        return _not_judged(product, own, least_lots)
    z = yardstick.z(value, own)
    lots = f"{own.n} lots, {own.label}" if own.label else f"{own.n} lots"
    usual = f"{product} usually reads {own.centre:.4g} (s {max(own.s, s_floor):.2g}, {lots})"
    if abs(z) <= z_limit:
        return Plausibility("plausible", (), (f"{value} is as {usual}.",), z)
    fits = _siblings(value, product, history, yardstick)
    slips = _slips(value, own, yardstick)
    reasons = [f"{value} is not plausible: {usual}; z = {z:+.1f}, beyond {z_limit:g}."]
    reasons.extend(f"It fits {name} (usually {history[name].centre:.4g})." for name in fits)
    reasons.extend(f"{meant} would fit: {why}." for meant, why in slips)
    reasons.append("A hint, not a refusal: look at the display and at the label on the cup again.")
    return Plausibility("not plausible", fits, tuple(reasons), z, tuple(meant for meant, _ in slips))


def _checked(z_limit: float, least_lots: int, s_floor: float) -> _Yardstick:
    for name, number in (("z_limit", z_limit), ("s_floor", s_floor)):
        if not (number > 0 and math.isfinite(number)):
            raise InputError(name, number, "a finite number greater than zero")
    if least_lots < 2:
        raise InputError("least_lots", least_lots, "at least 2; one lot has no scatter")
    return _Yardstick(z_limit, least_lots, s_floor)


def _not_judged(product: str, own: History | None, least_lots: int) -> Plausibility:
    n = own.n if own else 0
    lots = "no lot" if n == 0 else "1 lot" if n == 1 else f"{n} lots"
    why = f"{product} has {lots} in its history: too few to judge a value by (at least {least_lots})."
    return Plausibility("not judged", (), (why,))


def _siblings(value: Decimal, product: str, history: Mapping[str, History], yardstick: _Yardstick) -> tuple[str, ...]:
    """The other products the value fits, the likeliest first; a long list helps nobody."""
    near = [
        (yardstick.unlikely(value, of_sibling), name)
        for name, of_sibling in history.items()
        if name != product and yardstick.fits(value, of_sibling)
    ]
    return tuple(name for _, name in sorted(near)[:MOST_NAMED])


def _slips(value: Decimal, own: History, yardstick: _Yardstick) -> list[tuple[Decimal, str]]:
    """What may have been meant: the slips of the pen that bring the value home, each with its name."""
    found: dict[Decimal, str] = {}
    if 1 < value <= 100:
        found[value.scaleb(-2)] = "it looks like ERH in percent"
    for power in (1, -1):
        found.setdefault(value.scaleb(power), "the decimal point slipped by one place")
    for swapped, one, other in _swaps(value):
        found.setdefault(swapped, f"the digits {one} and {other} swapped")
    fitting = [(meant, why) for meant, why in found.items() if 0 < meant <= 1 and yardstick.fits(meant, own)]
    fitting.sort(key=lambda pair: abs(yardstick.z(pair[0], own)))
    return fitting[:MOST_NAMED]


def _swaps(value: Decimal) -> Iterable[tuple[Decimal, str, str]]:
    """The value with each pair of its decimals exchanged, neighbours first, since those are what fingers swap."""
    whole, point, digits = f"{value:f}".partition(".")
    for i, j in sorted(combinations(range(len(digits)), 2), key=lambda pair: pair[1] - pair[0]):
        if digits[i] != digits[j]:
            turned = list(digits)
            turned[i], turned[j] = turned[j], turned[i]
            yield Decimal(f"{whole}{point}{''.join(turned)}"), digits[i], digits[j]


def _median(values: Sequence[float]) -> float:
    """The middle; written out because the standard library's module is slow to import."""
    ordered = sorted(values)
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2

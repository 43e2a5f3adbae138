"""What a laboratory's own checks and portions show: bias, day to day, within the day, repeatability."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from isohume.foundation.metrology.straight_line import StraightLine, unweighted_line
from isohume.foundation.quantity.errors import InputError

FEWEST_FOR_A_LINE = 3


@dataclass(frozen=True, slots=True)
class CheckedReference:
    """One reference solution in one opening check: its deviation, mean of n readings."""

    check: str
    solution: str
    day: float
    expected: float
    deviation: float
    u_reference: float
    n: int = 1


@dataclass(frozen=True, slots=True)
class OwnData:
    """Everything one instrument's budget in one range is made from.

    checked: opening checks, every reference of the instrument. low, high: the range that the limits of its products
    span. closing: closing minus opening deviation of a reference on the same day. repeats: readings of one reference
    within one check. portions: the replicate portions of each sample. block_offset_k: block minus method temperature.
    """

    checked: tuple[CheckedReference, ...]
    low: float
    high: float
    temperature_c: float
    closing: tuple[float, ...] = ()
    repeats: tuple[tuple[float, ...], ...] = ()
    portions: tuple[tuple[float, ...], ...] = ()
    block_offset_k: tuple[float, ...] = ()
    block_tolerance_k: float = 0.5
    check_interval_h: float = 24.0
    resolution: float = 0.0001

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.high <= 1.0:
            raise InputError("range", f"{self.low} to {self.high}", "an a_w range from low to high, 0 to 1")
        if not self.resolution > 0.0:
            raise InputError("resolution", self.resolution, "a step of the display greater than zero")


@dataclass(frozen=True, slots=True)
class Variance:
    """A variance with its degrees of freedom; 0 of them where there was nothing to take it from."""

    value: float
    dof: float

    @property
    def s(self) -> float:
        """Its root."""
        return math.sqrt(self.value)


@dataclass(frozen=True, slots=True)
class Bracket:
    """The references that stand for a range: those in it, the next one below and the next one above."""

    rows: tuple[CheckedReference, ...] = ()
    solutions: tuple[str, ...] = ()
    below: bool = False
    above: bool = False
    means: dict[str, float] = field(default_factory=dict)

    @property
    def checks(self) -> int:
        """How many checks stand behind it."""
        return len({row.check for row in self.rows})


def bracket_of(checked: Sequence[CheckedReference], low: float, high: float) -> Bracket:
    """The references that stand for a range of a_w.

    checked: references in opening checks [1]. low, high: the range [1].
    Returns: the Bracket; `below` and `above` say whether references stand on both sides of the range.
    Source: none (bracketing as for a limit).
    """
    expected = {row.solution: row.expected for row in checked}
    within = {s for s, a_w in expected.items() if low <= a_w <= high}
    lower = max((s for s, a_w in expected.items() if a_w < low), key=expected.__getitem__, default=None)
    upper = min((s for s, a_w in expected.items() if a_w > high), key=expected.__getitem__, default=None)
    chosen = within | {s for s in (lower, upper) if s is not None}
    rows = tuple(row for row in checked if row.solution in chosen)
    below = lower is not None or any(expected[s] == low for s in within)
    above = upper is not None or any(expected[s] == high for s in within)
    return Bracket(rows, tuple(sorted(chosen, key=expected.__getitem__)), below, above, _means(rows))


def _means(rows: Iterable[CheckedReference]) -> dict[str, float]:
    by: dict[str, list[float]] = defaultdict(list)
    for row in rows:
        by[row.solution].append(row.deviation)
    return {solution: math.fsum(found) / len(found) for solution, found in by.items()}


def pooled_variance(groups: Iterable[Sequence[float]]) -> Variance:
    """The variance within groups, pooled.

        s^2 = sum((x - mean of its group)^2)/sum(n - 1)
    groups: the values of each group [any unit]; a group of one says nothing.
    Returns: the Variance [square of the unit].
    Source: ISO5725-2, 7.4.
    """
    squares, dof = [], 0
    for group in groups:
        mean = math.fsum(group) / len(group) if group else 0.0
        squares += [(x - mean) ** 2 for x in group]
        dof += max(len(group) - 1, 0)
    return Variance(math.fsum(squares) / dof, dof) if dof else Variance(0.0, 0)


def between_checks(bracket: Bracket) -> Variance:
    """How the deviation of a reference differs from check to check, pooled over the references of the range."""
    by: dict[str, list[float]] = defaultdict(list)
    for row in bracket.rows:
        by[row.solution].append(row.deviation)
    return pooled_variance(by.values())


def within_checks(checked: Sequence[CheckedReference]) -> Variance:
    """How the references of one check differ, each from its own mean: repeatability, and a little more.

    sum((d - mean of its solution - mean of its check)^2)/(sum(n - 1) - (solutions - 1))
    """
    means = _means(checked)
    by: dict[str, list[float]] = defaultdict(list)
    for row in checked:
        by[row.check].append(row.deviation - means[row.solution])
    found = pooled_variance(by.values())
    dof = found.dof - max(len(means) - 1, 0)
    return Variance(found.value * found.dof / dof, dof) if dof >= 1 else Variance(0.0, 0)


def line_of_checks(bracket: Bracket) -> StraightLine | None:
    """The line through the mean deviation of each check, references' own means taken out; None for too few days."""
    by: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for row in bracket.rows:
        by[row.check].append((row.day, row.deviation - bracket.means[row.solution]))
    days = [math.fsum(day for day, _ in rows) / len(rows) for rows in by.values()]
    means = [math.fsum(off for _, off in rows) / len(rows) for rows in by.values()]
    if len(days) < FEWEST_FOR_A_LINE or max(days) == min(days):
        return None
    return unweighted_line(days, means)

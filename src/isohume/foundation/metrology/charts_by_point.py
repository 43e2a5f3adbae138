"""A control chart of one series: phases with their own centre and sigma, statistic, limits and signals point by point.

Individuals are judged by run rules; a weighted moving average and cumulative sums by their limits.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from isohume.foundation.metrology.run_rules import ON_THE_LINE, RULES, Signal, run_rule_signals
from isohume.foundation.quantity.errors import InputError

KINDS = ("individuals", "ewma", "cusum")
BEYOND_LIMITS = "beyond the limits"
"""What a weighted moving average or a cumulative sum says."""
RANGE_BEYOND = "moving range beyond its limit"
D2_OF_PAIRS = 1.128
"""Mean range of two normal values in units of sigma (2/sqrt(pi)), as charts print it."""
D4_OF_PAIRS = 3.267
"""Upper limit of the moving range over its mean, as charts print it."""
EWMA_WEIGHT, EWMA_WIDTH = 0.2, 2.86
CUSUM_K, CUSUM_H = 0.5, 5.0
FEWEST_FOR_LIMITS = 20
"""Limits from fewer points are provisional (common advice is 20 to 25 points)."""


@dataclass(frozen=True, slots=True)
class ChartRules:
    """What a chart goes by: its kind, the run rules of individuals, the numbers of the other two, the baseline.

    baseline: how many first points of a phase give centre and sigma; None takes all of them.
    """

    kind: str = "individuals"
    rules: tuple[str, ...] = tuple(RULES)
    baseline: int | None = None
    weight: float = EWMA_WEIGHT
    width: float = EWMA_WIDTH
    k: float = CUSUM_K
    h: float = CUSUM_H
    common_sigma: bool = False

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise InputError("kind", self.kind, ", ".join(KINDS))
        if self.baseline is not None and self.baseline < 2:
            raise InputError("baseline", self.baseline, "points, at least 2")
        if not 0.0 < self.weight <= 1.0:
            raise InputError("lambda", self.weight, "above 0, up to 1")
        for name, one in (("width", self.width), ("h", self.h)):
            if not 0.0 < one < math.inf:
                raise InputError(name, one, "a finite number greater than zero")
        if not 0.0 <= self.k < math.inf:
            raise InputError("k", self.k, "a finite number of zero or more")
        for name in self.rules:
            if name not in RULES:
                raise InputError("rules", name, ", ".join(RULES))


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of points with its own centre; `end` is the first point after it, `baseline` the points used."""

    start: int
    end: int
    center: float
    sigma: float
    baseline: int
    range_limit: float


@dataclass(frozen=True, slots=True)
class ControlChart:
    """Point by point: the statistic, its limits, what speaks; `ranges` begin anew with each phase (None there)."""

    rules: ChartRules
    phases: tuple[Phase, ...]
    statistic: tuple[float, ...]
    limits: tuple[tuple[float, float], ...]
    signals: tuple[Signal, ...]
    ranges: tuple[float | None, ...]
    range_signals: tuple[Signal, ...]
    high: tuple[float, ...] = ()
    low: tuple[float, ...] = ()

    @property
    def center(self) -> float:
        """The centre in force at the last point."""
        return self.phases[-1].center

    @property
    def sigma(self) -> float:
        """The sigma in force at the last point."""
        return self.phases[-1].sigma


@dataclass(frozen=True, slots=True)
class _Drawn:
    statistic: list[float]
    limits: list[tuple[float, float]]
    signals: list[Signal]
    high: list[float]
    low: list[float]


def control_chart(
    values: Sequence[float],
    rules: ChartRules | None = None,
    *,
    breaks: Iterable[int] = (),
    center: float | None = None,
    sigma: float | None = None,
) -> ControlChart:
    """A control chart of values in time order.

        centre = mean, sigma = mean(abs(x_i - x_(i-1)))/1.128 of the baseline of each phase
        individuals: x_i against centre +- 3 sigma and the run rules
        ewma: z_i = w x_i + (1 - w) z_(i-1) against centre +- L sigma sqrt(w/(2 - w) (1 - (1 - w)^(2 i)))
        cusum: C+ = max(0, C+ + x - centre - k sigma), C- likewise; the larger, signed, against +- h sigma
    values: the values in time order [any unit], at least 2 in a phase.
    rules: what the chart goes by [1]; None takes individuals with every run rule.
    breaks: positions at which a new phase begins [1]; 0 and positions beyond the end begin none.
    center: a known centre [unit of the values]; None estimates it from the baseline.
    sigma: a known standard deviation of single values [unit of the values]; None estimates it from the baseline.
    Returns: the ControlChart [unit of the values]; signals by position, from 0.
    Raises: InputError for values that are not finite, too few of them, or a baseline without any scatter.
    Beyond: limits of the weighted moving average are the exact ones, which widen over its first points.
    Example: ten flow rates of the source: centre 50.81, limits 45.8159 and 55.8041.
    Source: NISTHandbook, 6.3.2; ISO7870-2, ISO7870-4 and ISO7870-6.
    """
    chosen = rules or ChartRules()
    numbers = [float(value) for value in values]
    if not all(map(math.isfinite, numbers)):
        raise InputError("values", "a value that is not finite", "finite numbers")
    phases = _phases(numbers, chosen, breaks, center, sigma)
    drawn = _Drawn([], [], [], [], [])
    for phase in phases:
        _DRAW[chosen.kind](numbers[phase.start : phase.end], phase, chosen, drawn)
    ranges, range_signals = _ranges(numbers, phases)
    return ControlChart(
        chosen,
        tuple(phases),
        tuple(drawn.statistic),
        tuple(drawn.limits),
        tuple(drawn.signals),
        tuple(ranges),
        tuple(range_signals),
        tuple(drawn.high),
        tuple(drawn.low),
    )


def _phases(
    numbers: list[float], rules: ChartRules, breaks: Iterable[int], center: float | None, sigma: float | None
) -> list[Phase]:
    edges = sorted({0, len(numbers), *(place for place in breaks if 0 < place < len(numbers))})
    spans = list(pairwise(edges)) or [(0, 0)]
    known = center is not None and sigma is not None
    most = len(numbers) if rules.baseline is None else rules.baseline
    bases = [numbers[start : min(end, start + most)] for start, end in spans]
    for base in bases:
        if len(base) < (1 if known else 2):
            raise InputError("values", f"{len(base)} in a phase", "at least 2 values in each phase")
    moving = [[abs(b - a) for a, b in pairwise(base)] for base in bases]
    if rules.common_sigma:
        moving = [[one for each in moving for one in each]] * len(spans)
    phases = []
    for (start, end), base, steps in zip(spans, bases, moving, strict=True):
        mean = math.fsum(base) / len(base) if center is None else center
        spread = math.fsum(steps) / len(steps) / D2_OF_PAIRS if sigma is None else sigma
        # ranges of a billionth of the value are what floats leave of decimals that are alike
        if not spread > 1e-12 * max(1e-300, *map(abs, base)):
            raise InputError("values", "values all alike in the baseline", "values that differ: sigma would be zero")
        phases.append(Phase(start, end, mean, spread, len(base), D4_OF_PAIRS * D2_OF_PAIRS * spread))
    return phases


def _individuals(part: list[float], phase: Phase, rules: ChartRules, drawn: _Drawn) -> None:
    z = [(x - phase.center) / phase.sigma for x in part]
    half = 3.0 * phase.sigma
    drawn.statistic.extend(part)
    drawn.limits.extend([(phase.center - half, phase.center + half)] * len(part))
    found = run_rule_signals(z, rules.rules)
    drawn.signals.extend(Signal(s.index + phase.start, s.rule, s.first + phase.start, s.side) for s in found)


def _ewma(part: list[float], phase: Phase, rules: ChartRules, drawn: _Drawn) -> None:
    w, average, left, first = rules.weight, phase.center, 1.0, phase.start
    widest, hair = rules.width * phase.sigma * math.sqrt(w / (2.0 - w)), ON_THE_LINE * phase.sigma
    above = True
    for place, x in enumerate(part, start=phase.start):
        average = w * x + (1.0 - w) * average
        left *= (1.0 - w) ** 2
        half = widest * math.sqrt(1.0 - left)
        if (average > phase.center) != above:
            above, first = not above, place
        drawn.statistic.append(average)
        drawn.limits.append((phase.center - half, phase.center + half))
        if abs(average - phase.center) > half + hair:
            drawn.signals.append(Signal(place, BEYOND_LIMITS, first, 1 if above else -1))


def _cusum(part: list[float], phase: Phase, rules: ChartRules, drawn: _Drawn) -> None:
    allowance, limit = rules.k * phase.sigma, rules.h * phase.sigma
    line = limit + ON_THE_LINE * phase.sigma
    high = low = 0.0
    since = {1: phase.start, -1: phase.start}
    for place, x in enumerate(part, start=phase.start):
        high = max(0.0, high + x - phase.center - allowance)
        low = max(0.0, low + phase.center - x - allowance)
        for side, total in ((1, high), (-1, low)):
            if total == 0.0:
                since[side] = place + 1
            elif total > line:
                drawn.signals.append(Signal(place, BEYOND_LIMITS, since[side], side))
        drawn.high.append(high)
        drawn.low.append(low)
        drawn.statistic.append(high if high >= low else -low)
        drawn.limits.append((-limit, limit))


_DRAW = {"individuals": _individuals, "ewma": _ewma, "cusum": _cusum}


def _ranges(numbers: list[float], phases: list[Phase]) -> tuple[list[float | None], list[Signal]]:
    ranges: list[float | None] = []
    signals = []
    for phase in phases:
        ranges.append(None)
        line = phase.range_limit + ON_THE_LINE * phase.sigma
        for place in range(phase.start + 1, phase.end):
            step = numbers[place] - numbers[place - 1]
            ranges.append(abs(step))
            if abs(step) > line:
                signals.append(Signal(place, RANGE_BEYOND, place - 1, 1 if step > 0 else -1))
    return ranges, signals

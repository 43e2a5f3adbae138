"""Capability of a process against its specification limits, with its confidence interval and its conditions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from isohume.foundation.metrology.charts_by_point import D2_OF_PAIRS, ChartRules, ControlChart, control_chart
from isohume.foundation.metrology.normal import normal_quantile
from isohume.foundation.quantity.errors import InputError, RangeError

FEWEST_LOTS = 25
"""Fewer values give no capability worth the name (the job's own rule: 25 to 30 lots)."""
_LOWEST_LEVEL, _HIGHEST_LEVEL = 0.5, 0.9999
_LARGEST_T = 1e5  # of a noncentral t whose distribution the numerical library still gives
_HALVINGS = 200

Sides = Literal["lower", "upper", "both"]


@dataclass(frozen=True, slots=True)
class Capability:
    """How a process lies against its limits: indices, interval of P_pk, and why it may not be used yet.

    p_pk goes by the standard deviation of all values, c_pk by the mean moving range. `interval` names the method.
    """

    n: int
    mean: float
    s: float
    sigma: float
    sides: Sides
    p_pk: float
    low: float
    high: float
    level: float
    interval: str
    c_pk: float
    stable: bool
    usable: bool
    reasons: tuple[str, ...]


def capability_index(mean: float, s: float, lower: float | None = None, upper: float | None = None) -> float:
    """The distance of the mean from the nearer limit in units of three standard deviations.

        min((upper - mean)/(3 s), (mean - lower)/(3 s)); one of them where there is one limit
    mean: the mean [any unit].
    s: the standard deviation [unit of the mean], greater than zero.
    lower: the lower limit [unit of the mean]; None where there is none.
    upper: the upper limit [unit of the mean]; None where there is none.
    Returns: the index [1], negative where the mean lies beyond a limit.
    Raises: InputError without a limit, for limits that cross, or an s that is not above zero.
    Example: mean 0.70, s 0.012, upper 0.75 -> 1.39.
    Source: NISTHandbook, 6.1.6.
    """
    if not 0.0 < s < math.inf:
        raise InputError("s", s, "a finite standard deviation greater than zero")
    if lower is None and upper is None:
        raise InputError("limits", "none", "a lower or an upper limit, or both")
    if lower is not None and upper is not None and not lower < upper:
        raise InputError("limits", f"{lower:g} to {upper:g}", "a lower limit below the upper one")
    rooms = [] if upper is None else [(upper - mean) / (3.0 * s)]
    if lower is not None:
        rooms.append((mean - lower) / (3.0 * s))
    return min(rooms)


def capability_interval_one_sided(index: float, n: int, level: float = 0.95) -> tuple[float, float]:
    """The exact confidence interval of a capability index against one limit, for normal values.

        3 sqrt(n) index is a noncentral t with n - 1 degrees of freedom about 3 sqrt(n) times the true index
    index: the index found [1].
    n: number of values [1], at least 2.
    level: confidence level [1], 0.5 to 0.9999.
    Returns: lower and upper confidence limit [1].
    Raises: InputError for n below 2 or an index that is not finite; RangeError for the level.
    Example: index 2.220/3 from 30 values at level 0.90: lower limit 1.645/3.
    Source: ISO16269-6, one-sided factors k (the same distribution read backwards).
    """
    _need(index, n, level)
    tail = 0.5 * (1.0 - level)
    scale = 3.0 * math.sqrt(n)
    seen = index * scale
    return _ncp(seen, n - 1, 1.0 - tail) / scale, _ncp(seen, n - 1, tail) / scale


def capability_interval_two_sided(index: float, n: int, level: float = 0.95) -> tuple[float, float]:
    """The approximate confidence interval of a capability index against two limits, for normal values.

        index +- z sqrt(1/(9 n) + index^2/(2 (n - 1)))
    index: the index found [1].
    n: number of values [1], at least 2.
    level: confidence level [1], 0.5 to 0.9999.
    Returns: lower and upper confidence limit [1].
    Raises: InputError for n below 2 or an index that is not finite; RangeError for the level.
    Example: index 1.33 from 20 values: 0.88 to 1.78.
    Source: Bissell1990; NISTHandbook, 6.1.6.
    """
    _need(index, n, level)
    half = normal_quantile(0.5 + 0.5 * level) * math.sqrt(1.0 / (9.0 * n) + index * index / (2.0 * (n - 1)))
    return index - half, index + half


def process_capability(
    values: Sequence[float],
    lower: float | None = None,
    upper: float | None = None,
    level: float = 0.95,
    rules: ChartRules | None = None,
) -> Capability:
    """Capability of values in time order, with its interval and whether it may be used.

        P_pk by s of all values, C_pk by mean(abs(x_i - x_(i-1)))/1.128
    values: the values in time order [any unit], at least 2.
    lower: the lower specification limit [unit of the values]; None where there is none.
    upper: the upper specification limit [unit of the values]; None where there is none.
    level: confidence level of the interval of P_pk [1].
    rules: the run rules by which stability is judged [1]; None takes every run rule.
    Returns: the Capability [1].
    Raises: InputError for too few values, values all alike, or limits missing or crossed.
    Beyond: with fewer than 25 values, or signals on the chart, it is not usable and says so.
    Example: mean 0.70, s 0.012, upper 0.75 -> P_pk 1.39.
    Source: NISTHandbook, 6.1.6; ISO16269-6; Bissell1990.
    """
    chosen = rules or ChartRules()
    chart = control_chart(values, ChartRules(rules=chosen.rules))
    numbers = [float(value) for value in values]
    n = len(numbers)
    mean = math.fsum(numbers) / n
    s = math.sqrt(math.fsum((x - mean) ** 2 for x in numbers) / (n - 1))
    sigma = math.fsum(abs(b - a) for a, b in pairwise(numbers)) / (n - 1) / D2_OF_PAIRS
    p_pk = capability_index(mean, s, lower, upper)
    sides: Sides = "upper" if lower is None else "lower" if upper is None else "both"
    between = capability_interval_two_sided if sides == "both" else capability_interval_one_sided
    low, high = between(p_pk, n, level)
    reasons = _reasons(n, chart)
    return Capability(
        n=n,
        mean=mean,
        s=s,
        sigma=sigma,
        sides=sides,
        p_pk=p_pk,
        low=low,
        high=high,
        level=level,
        interval="approximate (Bissell)" if sides == "both" else "exact (noncentral t)",
        c_pk=capability_index(mean, sigma, lower, upper),
        stable=not chart.signals,
        usable=not reasons,
        reasons=tuple(reasons),
    )


def _reasons(n: int, chart: ControlChart) -> list[str]:
    reasons = []
    if n < FEWEST_LOTS:
        reasons.append(f"{n} values; at least {FEWEST_LOTS} are needed before a capability is used.")
    if chart.signals:
        rules = sorted({signal.rule for signal in chart.signals})
        points = len({signal.index for signal in chart.signals})
        reasons.append(
            f"The process is not stable: {points} of {n} values signal ({', '.join(rules)}). Find the cause first; a "
            "capability describes a stable process only."
        )
    return reasons


def _need(index: float, n: int, level: float) -> None:
    if n < 2:
        raise InputError("n", n, "at least 2 values")
    if not math.isfinite(index):
        raise InputError("index", index, "a finite number")
    if not _LOWEST_LEVEL <= level <= _HIGHEST_LEVEL:
        raise RangeError("level", level, _LOWEST_LEVEL, _HIGHEST_LEVEL, why="confidence level")


def _ncp(t: float, dof: int, probability: float) -> float:
    """The noncentrality with which a noncentral t is at most `t` with a probability; it falls as that rises."""
    from scipy.special import nctdtr  # only here: a verb that draws a chart loads no numerical library

    if not abs(t) < _LARGEST_T:
        raise InputError("index", t, f"an index times 3 sqrt(n) below {_LARGEST_T:g}: beyond it the interval is lost")
    low, high = t - 1.0, t + 1.0
    while nctdtr(dof, low, t) < probability:
        low -= 2.0 * (t - low)
    while nctdtr(dof, high, t) > probability:
        high += 2.0 * (high - t)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if nctdtr(dof, middle, t) > probability else (low, middle)
    return 0.5 * (low + high)

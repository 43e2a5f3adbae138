"""Control charts in numbers: individuals with moving range, weighted moving average, cumulative sums."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from isohume.foundation.quantity.errors import InputError

_D2_OF_PAIRS = 1.128  # mean range of two normal values in units of sigma (2/sqrt(pi)), as charts print it


@dataclass(frozen=True, slots=True)
class IndividualsChart:
    """Centre and limits of a chart of single values."""

    mean: float
    mean_moving_range: float
    sigma: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class EwmaChart:
    """An exponentially weighted moving average (its start first) with asymptotic limits."""

    averages: tuple[float, ...]
    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class CusumChart:
    """The two one-sided cumulative sums of a chart; `signals` holds positions beyond h, counted from 1."""

    high: tuple[float, ...]
    low: tuple[float, ...]
    signals: tuple[int, ...]


def individuals_chart(values: Sequence[float]) -> IndividualsChart:
    """Limits for single values from the mean moving range.

        mean +- 3 MR/1.128, MR the mean of abs(x_i - x_(i-1))
    values: the values in time order [any unit], at least 2.
    Returns: the IndividualsChart [unit of the values].
    Raises: InputError for too few or not finite values.
    Example: ten flow rates of the source: 50.81, limits 45.8159 and 55.8041.
    Source: NISTHandbook, 6.3.2.2.2.
    """
    numbers = _need(values, 2)
    mean = math.fsum(numbers) / len(numbers)
    ranges = [abs(b - a) for a, b in pairwise(numbers)]
    moving = math.fsum(ranges) / len(ranges)
    sigma = moving / _D2_OF_PAIRS
    return IndividualsChart(mean, moving, sigma, mean - 3.0 * sigma, mean + 3.0 * sigma)


def ewma_chart(
    values: Sequence[float], start: float, sigma: float, weight: float = 0.2, width: float = 3.0
) -> EwmaChart:
    """The exponentially weighted moving average of values and its asymptotic limits.

        z_i = w x_i + (1 - w) z_(i-1);  start +- width sigma sqrt(w/(2 - w))
    values: the values in time order [any unit], at least 1.
    start: target or historical mean z_0 [unit of the values].
    sigma: historical standard deviation of single values [unit of the values], greater than zero.
    weight: weight w of the newest value [1], above 0, up to 1.
    width: half width of the limits in standard deviations of z [1], greater than zero.
    Returns: the EwmaChart, z_0 first [unit of the values].
    Raises: InputError for a weight, width or sigma out of range or values that are not finite.
    Example: start 50, sigma 2.0539, weight 0.3: limits 47.4115 and 52.5884.
    Source: NISTHandbook, 6.3.2.4.
    """
    numbers = _need(values, 1)
    if not 0.0 < weight <= 1.0:
        raise InputError("weight", weight, "above 0, up to 1")
    for name, one in (("sigma", sigma), ("width", width)):
        if not 0.0 < one < math.inf:
            raise InputError(name, one, "a finite number greater than zero")
    averages = [start]
    for x in numbers:
        averages.append(weight * x + (1.0 - weight) * averages[-1])
    half = width * sigma * math.sqrt(weight / (2.0 - weight))
    return EwmaChart(tuple(averages), start - half, start + half)


def cusum_chart(values: Sequence[float], target: float, k: float, h: float) -> CusumChart:
    """The tabular cumulative sums of values above and below a target.

        S_hi = max(0, S_hi + x - target - k);  S_lo = max(0, S_lo + target - k - x)
    values: the values in time order [any unit], at least 1.
    target: the target [unit of the values].
    k: allowance [unit of the values], zero or more.
    h: decision limit [unit of the values], greater than zero.
    Returns: the CusumChart [unit of the values].
    Raises: InputError for k or h out of range or values that are not finite.
    Example: twenty values about 325, k 0.3175, h 4.1959: first signal at the 14th.
    Source: NISTHandbook, 6.3.2.3.
    """
    numbers = _need(values, 1)
    if not 0.0 <= k < math.inf:
        raise InputError("k", k, "a finite allowance of zero or more")
    if not 0.0 < h < math.inf:
        raise InputError("h", h, "a finite decision limit greater than zero")
    high, low, signals = [0.0], [0.0], []
    for position, x in enumerate(numbers, start=1):
        high.append(max(0.0, high[-1] + x - target - k))
        low.append(max(0.0, low[-1] + target - k - x))
        if max(high[-1], low[-1]) > h:
            signals.append(position)
    return CusumChart(tuple(high[1:]), tuple(low[1:]), tuple(signals))


def cumulative_sums(values: Sequence[float], target: float) -> tuple[float, ...]:
    """The running sums of the deviations from a target.

        C_i = sum over j <= i of (x_j - target)
    values: the values in time order [any unit], at least 1.
    target: the target [unit of the values].
    Returns: the sums [unit of the values], one a value.
    Raises: InputError for values that are not finite.
    Example: twenty viscosities against 99 end at 1.9 (printed table).
    Source: MontgomeryRunger, table 16-7.
    """
    deviations = [x - target for x in _need(values, 1)]
    return tuple(math.fsum(deviations[: i + 1]) for i in range(len(deviations)))


def _need(values: Sequence[float], least: int) -> list[float]:
    numbers = [float(value) for value in values]
    if len(numbers) < least:
        raise InputError("values", f"{len(numbers)} values", f"at least {least}")
    if not all(math.isfinite(x) for x in numbers):
        raise InputError("values", "a value that is not finite", "finite numbers")
    return numbers

"""The charts of the run-length simulation, written anew as compiled loops: where does one signal first?"""

from __future__ import annotations

import math

import numba
import numpy as np
from numpy.typing import NDArray

INDIVIDUALS, EWMA = 0, 1


@numba.njit
def next_signal(
    z: NDArray[np.float64], start: int, kind: int, rules: int, first: float, second: float, settled: bool
) -> int:
    """The position of the first signal of a chart that begins at `start`; -1 where the values end before.

    rules: one bit a run rule, in their order. first, second: k and h, or weight and width.
    """
    if kind == INDIVIDUALS:
        return _individuals(z, start, rules)
    if kind == EWMA:
        return _ewma(z, start, first, second, settled)
    return _cusum(z, start, first, second)


@numba.njit
def _beyond(z, at, start, of, line):
    """How many of the last `of` points lie beyond a line on the side of the point, if that does itself; else 0."""
    side = 1.0 if z[at] > 0.0 else -1.0
    if side * z[at] <= line:
        return 0
    count = 0
    for j in range(max(start, at - of + 1), at + 1):
        if side * z[j] > line:
            count += 1
    return count


@numba.njit
def _trend(z, at, start):
    """Whether the last six points rise, or fall."""
    if at - start < 5:
        return False
    side = 1.0 if z[at] > z[at - 1] else -1.0
    rising = True
    for j in range(at - 4, at + 1):
        rising = rising and side * (z[j] - z[j - 1]) > 0.0
    return rising


@numba.njit
def _individuals(z, start, rules):
    for at in range(start, len(z)):
        if rules & 1 and abs(z[at]) > 3.0:
            return at
        if rules & 2 and _beyond(z, at, start, 3, 2.0) >= 2:
            return at
        if rules & 4 and _beyond(z, at, start, 5, 1.0) >= 4:
            return at
        if rules & 8 and _beyond(z, at, start, 8, 0.0) >= 8:
            return at
        if rules & 16 and _trend(z, at, start):
            return at
    return -1


@numba.njit
def _ewma(z, start, weight, width, settled):
    average, left = 0.0, 0.0 if settled else 1.0
    widest = width * math.sqrt(weight / (2.0 - weight))
    for at in range(start, len(z)):
        average += weight * (z[at] - average)
        left *= (1.0 - weight) ** 2
        if abs(average) > widest * math.sqrt(1.0 - left):
            return at
    return -1


@numba.njit
def _cusum(z, start, k, h):
    high = low = 0.0
    for at in range(start, len(z)):
        high = max(0.0, high + z[at] - k)
        low = max(0.0, low - z[at] - k)
        if high > h or low > h:
            return at
    return -1

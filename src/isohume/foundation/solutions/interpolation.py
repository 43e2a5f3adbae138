"""Interpolation of a short printed table: a cubic that keeps its rise and fall, and the straight line."""

from __future__ import annotations

from collections.abc import Sequence


def _interval(knots: Sequence[float], at: float) -> int:
    for index in range(len(knots) - 2):
        if at < knots[index + 1]:
            return index
    return len(knots) - 2


def linear(knots: Sequence[float], values: Sequence[float], at: float) -> float:
    """The straight line between the two printed neighbours.

    knots: rising places of the printed rows [1], in the table's unit, three or more.
    values: the printed values [1], one a row.
    at: the place wanted [1], between the first and the last row; the caller keeps the range.
    Returns: the value there [1].
    Source: none.
    """
    i = _interval(knots, at)
    share = (at - knots[i]) / (knots[i + 1] - knots[i])
    return values[i] + share * (values[i + 1] - values[i])


def monotone_cubic(knots: Sequence[float], values: Sequence[float], at: float) -> float:
    """The cubic Hermite curve with weighted harmonic slopes (Fritsch, Carlson): no overshoot between rows.

    knots: rising places of the printed rows [1], in the table's unit, three or more.
    values: the printed values [1], one a row.
    at: the place wanted [1], between the first and the last row; the caller keeps the range.
    Returns: the value there [1].
    Source: none.
    """
    i = _interval(knots, at)
    width = knots[i + 1] - knots[i]
    t = (at - knots[i]) / width
    left, right = _slope(knots, values, i), _slope(knots, values, i + 1)
    return (
        (1 + 2 * t) * (1 - t) ** 2 * values[i]
        + t * (1 - t) ** 2 * width * left
        + t**2 * (3 - 2 * t) * values[i + 1]
        + t**2 * (t - 1) * width * right
    )


def _slope(knots: Sequence[float], values: Sequence[float], i: int) -> float:
    """The slope at a row; three-point at the two ends, kept on the side of the neighbouring secant."""
    last = len(knots) - 1
    if i in (0, last):
        near, far = (0, 1) if i == 0 else (last - 1, last - 2)
        secants = _secant(knots, values, near), _secant(knots, values, far)
        return _end_slope(_width(knots, near), _width(knots, far), *secants)
    before, after = _secant(knots, values, i - 1), _secant(knots, values, i)
    if before * after <= 0:
        return 0.0
    w_before = 2 * _width(knots, i) + _width(knots, i - 1)
    w_after = _width(knots, i) + 2 * _width(knots, i - 1)
    return (w_before + w_after) / (w_before / before + w_after / after)


def _end_slope(near_width: float, far_width: float, near: float, far: float) -> float:
    slope = ((2 * near_width + far_width) * near - near_width * far) / (near_width + far_width)
    if slope * near <= 0:
        return 0.0
    if near * far < 0 and abs(slope) > 3 * abs(near):
        return 3 * near
    return slope


def _width(knots: Sequence[float], i: int) -> float:
    return knots[i + 1] - knots[i]


def _secant(knots: Sequence[float], values: Sequence[float], i: int) -> float:
    return (values[i + 1] - values[i]) / _width(knots, i)

"""Deming regression: a straight line between two instruments that both scatter, with jackknifed uncertainties."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError


@dataclass(frozen=True, slots=True)
class DemingLine:
    """second = offset + slope first, with standard uncertainties and covariance from leaving out one pair at a time.

    `ratio` is the variance of the second instrument's repeatability over that of the first.
    """

    offset: float
    slope: float
    u_offset: float
    u_slope: float
    covariance: float
    n: int
    ratio: float

    @property
    def dof(self) -> int:
        """Pairs minus two."""
        return self.n - 2

    def half_width(self, u: float, confidence: float = 0.95) -> float:
        """Half the two-sided interval of something with the standard uncertainty u."""
        return student_quantile(0.5 + 0.5 * confidence, self.dof) * u

    def difference_at(self, value: float) -> tuple[float, float]:
        """Second minus first where the first reads `value`, with its standard uncertainty."""
        variance = self.u_offset**2 + (value * self.u_slope) ** 2 + 2.0 * value * self.covariance
        return self.offset + (self.slope - 1.0) * value, math.sqrt(max(0.0, variance))


def deming_line(first: Sequence[float], second: Sequence[float], ratio: float = 1.0) -> DemingLine:
    """The line between two instruments with scatter in both.

        slope = (S_yy - r S_xx + sqrt((S_yy - r S_xx)^2 + 4 r S_xy^2))/(2 S_xy); offset = mean_y - slope mean_x
    first: readings of the first instrument x [any unit], five or more, not all equal.
    second: readings of the second y on the same portions [same unit], in the same order.
    ratio: variance of a reading of the second over that of the first [1], above zero; 1 for equal scatter.
    Returns: the DemingLine [same unit].
    Raises: InputError for unequal lengths, fewer than five pairs, equal readings, no covariance, ratio not above 0.
    Example: Pearson's ten points (source): slope -0.5456, offset 5.784.
    Source: Linnet1990; Pearson1901 (points and line for a ratio of 1).
    """
    _need_pairs(first, second, ratio)
    offset, slope = _line(first, second, ratio)
    n = len(first)
    left = [
        _line([*first[:i], *first[i + 1 :]], [*second[:i], *second[i + 1 :]], ratio) for i in range(n)
    ]  # pseudo-values n b - (n - 1) b(i): their scatter is that of (n - 1) b(i)
    offsets, slopes = ([(n - 1) * pair[which] for pair in left] for which in (0, 1))
    return DemingLine(
        offset=offset,
        slope=slope,
        u_offset=math.sqrt(_covariance(offsets, offsets) / n),
        u_slope=math.sqrt(_covariance(slopes, slopes) / n),
        covariance=_covariance(offsets, slopes) / n,
        n=n,
        ratio=ratio,
    )


def _line(x: Sequence[float], y: Sequence[float], ratio: float) -> tuple[float, float]:
    n = len(x)
    x_mean, y_mean = math.fsum(x) / n, math.fsum(y) / n
    s_xx = math.fsum((a - x_mean) ** 2 for a in x)
    s_yy = math.fsum((b - y_mean) ** 2 for b in y)
    s_xy = math.fsum((a - x_mean) * (b - y_mean) for a, b in zip(x, y, strict=True))
    if s_xx == 0.0 or s_xy == 0.0:
        raise InputError("first", x[0], "readings that go up or down together, of products that differ")
    rest = s_yy - ratio * s_xx
    slope = (rest + math.sqrt(rest * rest + 4.0 * ratio * s_xy * s_xy)) / (2.0 * s_xy)
    return y_mean - slope * x_mean, slope


def _covariance(a: Sequence[float], b: Sequence[float]) -> float:
    a_mean, b_mean = math.fsum(a) / len(a), math.fsum(b) / len(b)
    return math.fsum((p - a_mean) * (q - b_mean) for p, q in zip(a, b, strict=True)) / (len(a) - 1)


def _need_pairs(first: Sequence[float], second: Sequence[float], ratio: float) -> None:
    if len(first) != len(second):
        raise InputError("second", f"{len(second)} readings", f"{len(first)}, one for each of the first")
    if len(first) < 5:
        raise InputError("first", f"{len(first)} pairs", "at least five pairs; a line is not seen in fewer")
    if not all(math.isfinite(one) for one in (*first, *second)):
        raise InputError("first", "a value that is not finite", "finite numbers")
    if not 0.0 < ratio < math.inf:
        raise InputError("ratio", ratio, "a finite ratio of variances above zero")

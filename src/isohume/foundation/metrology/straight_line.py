"""A straight line through a few points: weighted by known uncertainties, or unweighted with its residuals.

Plain arithmetic about the weighted mean of x, where offset and slope are uncorrelated; the numbers on the
instrument's own scale follow from there without loss of digits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from isohume.foundation.quantity.errors import InputError


@dataclass(frozen=True, slots=True)
class StraightLine:
    """A fitted line y = offset + slope x, its standard uncertainties and their covariance.

    `residual_s` is the standard deviation of the residuals (None for a line with known uncertainties),
    `chi_squared` the weighted sum of their squares (None for an unweighted line), `dof` points minus two.
    """

    offset: float
    slope: float
    u_offset: float
    u_slope: float
    covariance: float
    n: int
    dof: int
    x_mean: float
    u_at_mean: float
    residual_s: float | None = None
    chi_squared: float | None = None

    @property
    def correlation(self) -> float:
        """The correlation coefficient of offset and slope."""
        return self.covariance / (self.u_offset * self.u_slope)

    def predict(self, x: Any) -> Any:
        """The line's y at x, float or array."""
        return self.offset + self.slope * x

    def predict_u(self, x: Any) -> Any:
        """The standard uncertainty of the line's y at x, float or array, covariance included."""
        return (self.u_at_mean**2 + (self.u_slope * (x - self.x_mean)) ** 2) ** 0.5

    def invert(self, y: Any) -> Any:
        """The x at which the line reads y, float or array."""
        if self.slope == 0.0:
            raise InputError("slope", self.slope, "a slope other than zero, to read the line backwards")
        return (y - self.offset) / self.slope

    def invert_u(self, y: Any, u_y: Any = 0.0) -> Any:
        """The standard uncertainty of that x, from the line and from u_y of an independent y."""
        return ((self.predict_u(self.invert(y)) ** 2 + u_y**2) / self.slope**2) ** 0.5


def weighted_line(x: Sequence[float], y: Sequence[float], u: Sequence[float]) -> StraightLine:
    """The weighted least-squares line through points of known uncertainty in y.

        weights 1/u^2; u_offset, u_slope, covariance from the weights, not scaled by the residuals
    x: abscissae [any unit], at least two different ones.
    y: ordinates [any unit].
    u: standard uncertainties of y [unit of y], greater than zero.
    Returns: the StraightLine; u_offset^2 = 1/W + x_mean^2/S, u_slope^2 = 1/S, covariance = -x_mean/S.
    Raises: InputError for unequal lengths, fewer than two points, one x only, or u not positive.
    Example: f([0.3279742, 0.7529611], [0.3286, 0.7542], [0.001741, 0.0016595]) has slope 1.0014427.
    Source: JCGM100, H.3 (with weights).
    """
    _need_points(x, y, 2)
    if len(u) != len(x):
        raise InputError("u", f"{len(u)} values", f"{len(x)}, one a point")
    for position, one in enumerate(u, start=1):
        if not 0.0 < one < math.inf:
            raise InputError(f"u[{position}]", one, "a finite standard uncertainty greater than zero")
    weights = [1.0 / (one * one) for one in u]
    centre = _centre(x, y, weights)
    residuals = _residuals(x, y, centre.offset, centre.slope)
    chi_squared = math.fsum(w * r * r for w, r in zip(weights, residuals, strict=True))
    return centre.line(scale=1.0, residual_s=None, chi_squared=chi_squared)


def unweighted_line(x: Sequence[float], y: Sequence[float]) -> StraightLine:
    """The ordinary least-squares line, its uncertainties from the scatter of the residuals.

        s^2 = sum(residual^2)/(n - 2)
    x: abscissae [any unit], at least three points, at least two different ones.
    y: ordinates [any unit], of equal and unknown uncertainty.
    Returns: the StraightLine with residual_s = s and dof = n - 2.
    Raises: InputError for unequal lengths, fewer than three points or one x only.
    Example: the thermometer of the source: offset -0.1712, slope 0.00218, s 0.0035 (table H.6).
    Source: JCGM100, H.3.
    """
    _need_points(x, y, 3)
    centre = _centre(x, y, [1.0] * len(x))
    residuals = _residuals(x, y, centre.offset, centre.slope)
    s = math.sqrt(math.fsum(r * r for r in residuals) / (len(x) - 2))
    return centre.line(scale=s, residual_s=s, chi_squared=None)


@dataclass(frozen=True, slots=True)
class _Centre:
    """The fit about the weighted mean of x."""

    n: int
    weight: float
    x_mean: float
    y_mean: float
    s_xx: float
    slope: float

    @property
    def offset(self) -> float:
        return self.y_mean - self.slope * self.x_mean

    def line(self, scale: float, residual_s: float | None, chi_squared: float | None) -> StraightLine:
        variance = scale * scale
        return StraightLine(
            offset=self.offset,
            slope=self.slope,
            u_offset=scale * math.sqrt(1.0 / self.weight + self.x_mean**2 / self.s_xx),
            u_slope=scale / math.sqrt(self.s_xx),
            covariance=-variance * self.x_mean / self.s_xx,
            n=self.n,
            dof=self.n - 2,
            x_mean=self.x_mean,
            u_at_mean=scale / math.sqrt(self.weight),
            residual_s=residual_s,
            chi_squared=chi_squared,
        )


def _centre(x: Sequence[float], y: Sequence[float], weights: Sequence[float]) -> _Centre:
    weight = math.fsum(weights)
    x_mean = math.fsum(w * a for w, a in zip(weights, x, strict=True)) / weight
    y_mean = math.fsum(w * b for w, b in zip(weights, y, strict=True)) / weight
    s_xx = math.fsum(w * (a - x_mean) ** 2 for w, a in zip(weights, x, strict=True))
    s_xy = math.fsum(w * (a - x_mean) * (b - y_mean) for w, a, b in zip(weights, x, y, strict=True))
    return _Centre(len(x), weight, x_mean, y_mean, s_xx, s_xy / s_xx)


def _residuals(x: Sequence[float], y: Sequence[float], offset: float, slope: float) -> list[float]:
    return [b - offset - slope * a for a, b in zip(x, y, strict=True)]


def _need_points(x: Sequence[float], y: Sequence[float], least: int) -> None:
    if len(x) != len(y):
        raise InputError("y", f"{len(y)} values", f"{len(x)}, one for each x")
    if len(x) < least:
        raise InputError("x", f"{len(x)} points", f"at least {least}")
    if not all(math.isfinite(one) for one in (*x, *y)):
        raise InputError("x", "a value that is not finite", "finite numbers in x and y")
    if min(x) == max(x):
        raise InputError("x", x[0], "at least two different values; a line needs a spread in x")

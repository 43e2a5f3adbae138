"""The straight line through points that are uncertain in both coordinates, each by its own amount."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError

_SETTLED = 1e-12  # relative change of the slope after which a float has nothing left to gain
_ROUNDS = 500


@dataclass(frozen=True, slots=True)
class YorkLine:
    """A line y = offset + slope x, its standard uncertainties from the stated ones of the points.

    `u_offset`, `u_slope` and `covariance` are not widened by the residuals; `scale` is what they must be multiplied by
    where the points scatter more than they state (1 where they do not).
    """

    offset: float
    slope: float
    u_offset: float
    u_slope: float
    covariance: float
    chi_squared: float
    n: int

    @property
    def dof(self) -> int:
        """Points minus two."""
        return self.n - 2

    @property
    def scale(self) -> float:
        """The root of chi-squared over its degrees of freedom, never below 1."""
        return max(1.0, math.sqrt(self.chi_squared / self.dof)) if self.dof else 1.0

    def predict(self, x: float) -> float:
        """The line's y at x."""
        return self.offset + self.slope * x

    def predict_u(self, x: float) -> float:
        """The standard uncertainty of the line's y at x, covariance included, not widened."""
        variance = self.u_offset**2 + 2.0 * x * self.covariance + (x * self.u_slope) ** 2
        return math.sqrt(max(0.0, variance))


def york_line(x: Sequence[float], y: Sequence[float], u_x: Sequence[float], u_y: Sequence[float]) -> YorkLine:
    """The most likely straight line through points with normal errors in x and in y.

        W = 1/(u_y^2 + b^2 u_x^2); b = sum(W beta V)/sum(W beta U), repeated until b stands still
    x: abscissae [any unit], at least three points, at least two different ones.
    y: ordinates [any unit].
    u_x: standard uncertainties of x [unit of x], zero or more.
    u_y: standard uncertainties of y [unit of y], zero or more, never both zero.
    Returns: the YorkLine; its uncertainties are those of the adjusted points [units of the line].
    Raises: InputError for unequal lengths, fewer than three points, one x only, a point without uncertainty, or points
        through which no line can be found.
    Beyond: errors of x and y that are correlated are not covered: give each point its own independent errors.
    Example: the points of 1901 with the weights of 1966: offset 5.4799102, slope -0.4805334, chi^2/8 1.4833 (table II).
    Source: York2004, eqs. 13a to 13d.
    """
    _need(x, y, u_x, u_y)
    slope = _first_slope(x, y, u_x, u_y)
    steepness = (max(y) - min(y)) / (max(x) - min(x))
    for _ in range(_ROUNDS):
        weights, betas, x_mean, y_mean = _adjusted(x, y, u_x, u_y, slope)
        down = math.fsum(w * b * (one - x_mean) for w, b, one in zip(weights, betas, x, strict=True))
        if down == 0.0:
            break
        up = math.fsum(w * b * (one - y_mean) for w, b, one in zip(weights, betas, y, strict=True))
        before, slope = slope, up / down
        if abs(slope - before) <= _SETTLED * max(abs(slope), steepness):
            return _finished(x, y, u_x, u_y, slope)
    raise InputError("x", "points without a direction", "points that lie along a line; these have no clear slope")


def _adjusted(
    x: Sequence[float], y: Sequence[float], u_x: Sequence[float], u_y: Sequence[float], slope: float
) -> tuple[list[float], list[float], float, float]:
    """The weights at a slope, how far each point is moved along x from the mean, and the weighted means."""
    weights = [1.0 / (uy * uy + (slope * ux) ** 2) for ux, uy in zip(u_x, u_y, strict=True)]
    total = math.fsum(weights)
    x_mean = math.fsum(w * one for w, one in zip(weights, x, strict=True)) / total
    y_mean = math.fsum(w * one for w, one in zip(weights, y, strict=True)) / total
    betas = [
        w * ((a - x_mean) * uy * uy + slope * (b - y_mean) * ux * ux)
        for w, a, b, ux, uy in zip(weights, x, y, u_x, u_y, strict=True)
    ]
    return weights, betas, x_mean, y_mean


def _finished(
    x: Sequence[float], y: Sequence[float], u_x: Sequence[float], u_y: Sequence[float], slope: float
) -> YorkLine:
    weights, betas, x_mean, y_mean = _adjusted(x, y, u_x, u_y, slope)
    offset = y_mean - slope * x_mean
    total = math.fsum(weights)
    centre = x_mean + math.fsum(w * b for w, b in zip(weights, betas, strict=True)) / total
    spread = math.fsum(w * (x_mean + b - centre) ** 2 for w, b in zip(weights, betas, strict=True))
    variance = 1.0 / spread
    chi = math.fsum(w * (b - offset - slope * a) ** 2 for w, a, b in zip(weights, x, y, strict=True))
    return YorkLine(
        offset=offset,
        slope=slope,
        u_offset=math.sqrt(1.0 / total + centre * centre * variance),
        u_slope=math.sqrt(variance),
        covariance=-centre * variance,
        chi_squared=chi,
        n=len(x),
    )


def _first_slope(x: Sequence[float], y: Sequence[float], u_x: Sequence[float], u_y: Sequence[float]) -> float:
    """The slope of least squares in both directions, as if all points were alike: a start on the right side."""
    x_mean, y_mean = math.fsum(x) / len(x), math.fsum(y) / len(y)
    s_xx = math.fsum((one - x_mean) ** 2 for one in x)
    s_yy = math.fsum((one - y_mean) ** 2 for one in y)
    s_xy = math.fsum((a - x_mean) * (b - y_mean) for a, b in zip(x, y, strict=True))
    if s_xy == 0.0:
        return 0.0
    ratio = math.fsum(u * u for u in u_y) / max(math.fsum(u * u for u in u_x), 1e-300)
    if ratio > 1e12:  # no error in x worth the name
        return s_xy / s_xx
    half = s_yy - ratio * s_xx
    return (half + math.hypot(half, 2.0 * math.sqrt(ratio) * s_xy)) / (2.0 * s_xy)


def _need(x: Sequence[float], y: Sequence[float], u_x: Sequence[float], u_y: Sequence[float]) -> None:
    for name, many in (("y", y), ("u_x", u_x), ("u_y", u_y)):
        if len(many) != len(x):
            raise InputError(name, f"{len(many)} values", f"{len(x)}, one a point")
    if len(x) < 3:
        raise InputError("x", f"{len(x)} points", "at least 3")
    if not all(math.isfinite(one) for one in (*x, *y)):
        raise InputError("x", "a value that is not finite", "finite numbers in x and y")
    if min(x) == max(x):
        raise InputError("x", x[0], "at least two different values; a line needs a spread in x")
    for position, (one, other) in enumerate(zip(u_x, u_y, strict=True), start=1):
        if not (0.0 <= one < math.inf and 0.0 <= other < math.inf and one + other > 0.0):
            raise InputError(f"u[{position}]", f"{one}, {other}", "uncertainties of zero or more, not both zero")

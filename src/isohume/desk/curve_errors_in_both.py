"""A curve that is linear in its coefficients through points uncertain in both coordinates, a second abscissa exact.

Used for a local isotherm: moisture on a_w, straight or bent, with time as an exact second column where a drift is asked
for. For a straight line it is the line of york_line by another road.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import InputError

Floats = NDArray[np.float64]
_ROUNDS = 300
_SETTLED = 1e-11  # relative change of every point's distance, in units of its uncertainty


@dataclass(frozen=True, slots=True)
class Curve:
    """y = c0 + c1 (x - centre) + ... + c_d (x - centre)^d [+ c_t t], with the covariance of stated uncertainties."""

    degree: int
    centre: float
    coefficients: Floats
    covariance: Floats
    chi_squared: float
    n: int

    @property
    def dof(self) -> int:
        """Points less coefficients."""
        return self.n - int(self.coefficients.size)

    @property
    def scale(self) -> float:
        """What the covariance's root must be multiplied by where the points scatter more than they state."""
        return float(max(1.0, np.sqrt(self.chi_squared / self.dof))) if self.dof > 0 else 1.0

    def value(self, x: float) -> float:
        """The curve's y at x, at time zero."""
        return float(self.row(x) @ self.coefficients)

    def slope(self, x: float) -> float:
        """The curve's slope at x."""
        return float(_slope(np.array([x]) - self.centre, self.coefficients, self.degree)[0])

    def u(self, x: float) -> float:
        """The standard uncertainty of the curve's y at x, widened by `scale`."""
        row = self.row(x)
        return self.scale * float(np.sqrt(max(0.0, float(row @ self.covariance @ row))))

    def u_of(self, place: int) -> float:
        """The standard uncertainty of one coefficient, widened by `scale`."""
        return self.scale * float(np.sqrt(self.covariance[place, place]))

    def row(self, x: float) -> Floats:
        """The derivatives of y by the coefficients at x, at time zero."""
        row = np.zeros(self.coefficients.size)
        row[: self.degree + 1] = (x - self.centre) ** np.arange(self.degree + 1)
        return row


def curve_errors_in_both(
    x: Floats, y: Floats, u_x: Floats, u_y: Floats, degree: int = 1, time: Floats | None = None
) -> Curve:
    """The most likely curve: least weighted distances in both coordinates, each point moved to its nearest place."""
    size = degree + 1 + (time is not None)
    if x.size < size:
        raise InputError("pairs", x.size, f"at least {size}")
    centre = float(x.mean())
    at, coefficients, before = x - centre, np.zeros(size), np.full(x.size, np.inf)
    moved = at.copy()
    for turn in range(_ROUNDS):
        slope = _slope(moved, coefficients, degree)
        weights = 1.0 / (u_y * u_y + (slope * u_x) ** 2)
        design = _design(moved, degree, time)
        # the curve's tangent at the moved point stands in for the curve
        tangent = design @ coefficients + slope * (at - moved)
        root = np.sqrt(weights)
        step, *_ = np.linalg.lstsq(root[:, None] * design, root * (y - tangent), rcond=None)
        coefficients = coefficients + step
        slope = _slope(moved, coefficients, degree)
        weights = 1.0 / (u_y * u_y + (slope * u_x) ** 2)
        miss = y - design @ coefficients - slope * (at - moved)
        moved = at + u_x * u_x * slope * weights * miss
        distance = np.sqrt(weights) * miss
        if turn > 1 and np.all(np.abs(distance - before) <= _SETTLED * (1.0 + np.abs(distance))):
            break
        before = distance
    else:
        raise InputError("pairs", "pairs without a direction", "pairs along a curve; these have no clear slope")
    design = _design(moved, degree, time)
    weighted = weights[:, None] * design
    covariance: Floats = np.asarray(np.linalg.inv(design.T @ weighted), dtype=np.float64)
    return Curve(degree, centre, coefficients, covariance, float(distance @ distance), int(x.size))


def _design(moved: Floats, degree: int, time: Floats | None) -> Floats:
    columns = [moved**power for power in range(degree + 1)]
    return np.column_stack(columns if time is None else [*columns, time])


def _slope(moved: Floats, coefficients: Floats, degree: int) -> Floats:
    total = np.zeros_like(moved)
    for power in range(1, degree + 1):
        total += power * coefficients[power] * moved ** (power - 1)
    return total

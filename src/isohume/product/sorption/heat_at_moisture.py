"""The net heat at one moisture: a weighted sum of ln a_w over the isotherms, with its variance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.product.sorption.isostere import Isostere, isostere, known_covariance
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.net_heat import GAS_KJ_MOL_K

Place = tuple[Fit, float]  # an isotherm and the temperature it is asked at [degC]
_EXACT = 1e-13  # u of ln a_w of noiseless points: they still need a weight


@dataclass(frozen=True, slots=True)
class HeatAtMoisture:
    """q = sum of coefficient x ln a_w over the places; variances [(kJ/mol)^2] are None where an isotherm has none."""

    value: float
    coefficients: tuple[float, ...]
    stated: float | None  # variance by the isotherms' own covariances
    excess: float  # variance added where three temperatures or more do not lie on a line
    dof: float
    bend: float | None  # probability of so much scatter about the line

    @property
    def u(self) -> float | None:
        """The standard uncertainty [kJ/mol]."""
        return None if self.stated is None else math.sqrt(self.stated + self.excess)


def heat_at(places: Sequence[Place], moisture_db: float) -> HeatAtMoisture:
    """The heat at one moisture from the slope of ln a_w on 1/T over the places."""
    points = [isostere(fit, moisture_db, temperature) for fit, temperature in places]
    variances = _variances(places, points)
    one_curve = len({id(fit) for fit, _ in places}) == 1
    weights = [1.0] * len(points)
    if not one_curve and variances is not None:
        weights = [1.0 / max(v, _EXACT**2) for v in variances]
    c = _coefficients([point.temperature_k for point in points], weights)
    q = math.fsum(k * point.log_a_w for k, point in zip(c, points, strict=True))
    if one_curve:
        return _of_one_fit(places[0][0], points, c, q)
    misses = _misses(points, weights, c)
    rest = len(points) - 2
    if variances is None:
        if rest == 0:
            return HeatAtMoisture(q, tuple(c), None, 0.0, math.inf, None)
        scatter = math.fsum(m * m for m in misses) / rest
        return HeatAtMoisture(q, tuple(c), scatter * math.fsum(k * k for k in c), 0.0, float(rest), None)
    shares = [k * k * v for k, v in zip(c, variances, strict=True)]
    stated = math.fsum(shares)
    limiting = math.fsum(s * s / fit.dof for s, (fit, _) in zip(shares, places, strict=True))
    excess, bend = 0.0, None
    if rest:
        ratio = math.fsum(w * m * m for w, m in zip(weights, misses, strict=True)) / rest
        bend = _exceeded(ratio, rest, math.fsum(fit.dof for fit, _ in places))
        excess = stated * max(0.0, ratio - 1.0)
        limiting += excess * excess / rest
    dof = (stated + excess) ** 2 / limiting if limiting > 0.0 else math.inf
    return HeatAtMoisture(q, tuple(c), stated, excess, dof, bend)


def _of_one_fit(fit: Fit, points: list[Isostere], c: list[float], q: float) -> HeatAtMoisture:
    """Both places share the parameters: their movements add with their signs."""
    covariance = known_covariance(fit)
    if covariance is None:
        return HeatAtMoisture(q, tuple(c), None, 0.0, math.inf, None)
    turn = sum(k * point.gradient for k, point in zip(c, points, strict=True))
    return HeatAtMoisture(q, tuple(c), max(0.0, float(turn @ covariance @ turn)), 0.0, float(fit.dof), None)


def _variances(places: Sequence[Place], points: list[Isostere]) -> list[float] | None:
    """The variance of ln a_w at each place; None where an isotherm has no covariance."""
    found = []
    for (fit, _), point in zip(places, points, strict=True):
        covariance = known_covariance(fit)
        if covariance is None:
            return None
        found.append(max(0.0, float(point.gradient @ covariance @ point.gradient)))
    return found


def _coefficients(temperature_k: list[float], weights: list[float]) -> list[float]:
    """The weights with which ln a_w enters -R times the slope of the line on 1/T."""
    x = [1.0 / t for t in temperature_k]
    mean = math.fsum(w * one for w, one in zip(weights, x, strict=True)) / math.fsum(weights)
    spread = math.fsum(w * (one - mean) ** 2 for w, one in zip(weights, x, strict=True))
    return [-GAS_KJ_MOL_K * w * (one - mean) / spread for w, one in zip(weights, x, strict=True)]


def _misses(points: list[Isostere], weights: list[float], c: list[float]) -> list[float]:
    """How far each ln a_w lies off the line."""
    x, y = [1.0 / point.temperature_k for point in points], [point.log_a_w for point in points]
    total = math.fsum(weights)
    x_mean = math.fsum(w * one for w, one in zip(weights, x, strict=True)) / total
    y_mean = math.fsum(w * one for w, one in zip(weights, y, strict=True)) / total
    slope = math.fsum(k * one for k, one in zip(c, y, strict=True)) / -GAS_KJ_MOL_K
    return [b - y_mean - slope * (a - x_mean) for a, b in zip(x, y, strict=True)]


def _exceeded(ratio: float, dof: int, dof_of_scatter: float) -> float:
    """The probability of a variance ratio so large (F), the isotherms' own scatter being an estimate too."""
    from scipy.special import betainc

    return float(betainc(0.5 * dof_of_scatter, 0.5 * dof, dof_of_scatter / (dof_of_scatter + dof * ratio)))

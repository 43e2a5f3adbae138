"""An isotherm in use: moisture at a_w, a_w at moisture, the moisture limit that keeps an a_w limit, with intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from isohume.foundation.metrology import student_quantile
from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.product.sorption.isotherm_fit import Fit


@dataclass(frozen=True, slots=True)
class Interval:
    """A value between two ends at a level of confidence; `flags` says what was asked for beyond its range by name."""

    value: float
    low: float
    high: float
    level: float
    flags: tuple[str, ...] = ()


def moisture_at(
    fit: Fit, a_w: float, level: float = 0.95, temperature_c: float | None = None, beyond: str = "refuse"
) -> Interval:
    """The moisture of the fitted curve at an a_w, with its confidence interval.

        X(a; p) -+ t(level, n - p) sqrt(g' V g), g = dX/dp
    fit: the fitted isotherm [1].
    a_w: water activity [1], inside the fitted range.
    level: confidence [1], between 0 and 1.
    temperature_c: temperature [degC], for a model of several temperatures.
    beyond: "refuse", or "flag" to extrapolate with a flag [text].
    Returns: Interval of moisture on dry basis [kg/kg].
    Raises: RangeError outside the fitted range; InputError where the fit has no uncertainty.
    Beyond: refused, or flagged where asked for by name.
    Source: JCGM100, 5.2.2.
    """
    flags = _flags(fit, a_w, beyond)
    x, spread = _curve_with_u(fit, a_w, temperature_c)
    half = _reach(fit, level) * spread
    below = () if x - half > 0.0 else ("the interval reaches below zero: these points hardly determine it",)
    return Interval(x, x - half, x + half, level, (*flags, *_of_held(fit), *below))


def water_activity_at(
    fit: Fit, moisture_db: float, level: float = 0.95, u_moisture: float = 0.0, temperature_c: float | None = None
) -> Interval:
    """The a_w at which the fitted curve has a moisture, with its confidence interval.

        a = X^-1(x); u(a) = sqrt(u(X)^2 + u(x)^2)/X'(a)
    fit: the fitted isotherm [1].
    moisture_db: moisture on dry basis [kg/kg], inside what the fitted range covers.
    level: confidence [1], between 0 and 1.
    u_moisture: standard uncertainty of the moisture itself [kg/kg], 0 or more.
    temperature_c: temperature [degC], for a model of several temperatures.
    Returns: Interval of a_w [1].
    Raises: RangeError outside the fitted range; InputError where the fit has no uncertainty.
    Beyond: refused.
    Source: JCGM100, 5.1.2.
    """
    _need_zero_or_more("u_moisture", u_moisture)
    a = fit.water_activity(moisture_db, temperature_c)
    _x, spread = _curve_with_u(fit, a, temperature_c)
    half = _reach(fit, level) * float(np.hypot(spread, u_moisture)) / abs(fit.slope(a, temperature_c))
    beyond = () if a - half >= 0.0 and a + half <= 1.0 else ("the interval reaches beyond 0 to 1: hardly determined",)
    return Interval(a, a - half, a + half, level, (*_of_held(fit), *beyond))


def moisture_limit(
    fit: Fit, a_w_limit: float, assurance: float = 0.95, u_moisture: float = 0.0, guard: float = 0.0,
    temperature_c: float | None = None,
) -> Interval:  # fmt: skip
    """The largest measured moisture that keeps the a_w below its limit with a stated assurance.

        X_max = X(a_limit - guard) - t(assurance, n - p) sqrt(u(X)^2 + u(x)^2), one-sided
    fit: the isotherm at the warmest storage temperature, or of several temperatures [1].
    a_w_limit: the limit of a_w [1], inside the fitted range.
    assurance: one-sided probability [1], above 0.5, below 1.
    u_moisture: standard uncertainty of the moisture determination [kg/kg], 0 or more.
    guard: guard band taken off the a_w limit first [1], 0 or more.
    temperature_c: the warmest storage temperature [degC], for a model of several temperatures.
    Returns: Interval: value on the curve, low the limit to keep, high its counterpart on dry basis [kg/kg].
    Raises: RangeError outside the fitted range; InputError for an assurance of 0.5 or less.
    Beyond: refused.
    Source: none (common practice).
    """
    if not 0.5 < assurance < 1.0:
        raise InputError("assurance", assurance, "above 0.5, below 1, such as 0.95")
    _need_zero_or_more("guard", guard)
    _need_zero_or_more("u_moisture", u_moisture)
    a = a_w_limit - guard
    _flags(fit, a, "refuse")
    _need_a_rising_curve(fit, a, temperature_c)
    x, spread = _curve_with_u(fit, a, temperature_c)
    half = _reach(fit, 2.0 * assurance - 1.0) * float(np.hypot(spread, u_moisture))
    if not x - half > 0.0:
        raise InputError("a_w_limit", a_w_limit, "points that determine a moisture above zero there: these do not")
    return Interval(x, x - half, x + half, assurance, _of_held(fit))


def _need_zero_or_more(field: str, value: float) -> None:
    if not 0.0 <= value < np.inf:
        raise InputError(field, value, "0 or more, a finite number")


def _need_a_rising_curve(fit: Fit, a_w: float, temperature_c: float | None) -> None:
    """A limit of moisture keeps a limit of a_w only where all drier product has a lower a_w."""
    grid = np.linspace(fit.valid_a_w[0], a_w, 100)
    moisture, slope = fit.curve(grid, temperature_c)[:2]
    if not (np.isfinite(moisture).all() and (slope[1:] > 0.0).all()):
        raise InputError("fit", fit.model.name, "a curve that rises up to the limit: this one does not")


def _of_held(fit: Fit) -> tuple[str, ...]:
    if not fit.held:
        return ()
    return (f"{', '.join(fit.held)} held at the end of the range: the interval does not know how uncertain that is",)


def _flags(fit: Fit, a_w: float, beyond: str) -> tuple[str, ...]:
    low, high = fit.valid_a_w
    if low <= a_w <= high:
        return ()
    inside_model = fit.model.valid_a_w[0] <= a_w <= fit.model.valid_a_w[1]
    if beyond != "flag" or not inside_model:
        raise RangeError("a_w", a_w, low, high, why="the fitted range")
    return (f"extrapolated: a_w {a_w:g} lies outside the fitted range {low:g} to {high:g}",)


def _curve_with_u(fit: Fit, a_w: float, temperature_c: float | None) -> tuple[float, float]:
    _need_one_curve(fit)
    rows = fit.curve(np.array([a_w]), temperature_c)
    size, variances = len(fit.values), np.diag(fit.covariance)
    if fit.dof <= 0:
        raise InputError("points", fit.n, f"more points than the {size} parameters, else there is no interval")
    free = np.isfinite(variances)
    if not free.any() or (fit.sse > 0.0 and not (variances[free] > 0.0).all()):
        allowed = f"points that tell the parameters of {fit.model.name} apart, else there is no interval"
        raise InputError("points", fit.n, allowed)
    g = rows[2:, 0][free]
    return float(rows[0, 0]), float(np.sqrt(max(g @ fit.covariance[np.ix_(free, free)] @ g, 0.0)))


def _need_one_curve(fit: Fit) -> None:
    """Points of both directions, or of several temperatures under a model without one, are no one curve."""
    if len(fit.points.branches()) > 1:
        raise InputError("direction", "both", "the points of one direction: adsorption and desorption are two curves")
    several = fit.points.temperature_c
    if several is not None and not fit.model.needs_temperature and np.ptp(several) > 1.0:
        raise InputError("temperature_c", "several", f"the points of one temperature: {fit.model.name} has none in it")


def _reach(fit: Fit, level: float) -> float:
    if not 0.0 < level < 1.0:
        raise InputError("level", level, "between 0 and 1, such as 0.95")
    return float(student_quantile(0.5 * (1.0 + level), fit.dof))

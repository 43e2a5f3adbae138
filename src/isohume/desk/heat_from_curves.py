"""The net heat of a product at one reading, from kept isotherms read as curves: no fit is needed, none is repeated."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from isohume.desk.heat_of_sorption import HeatOfSorption
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange
from isohume.product.sorption.net_heat import GAS_KJ_MOL_K, ZERO_C_IN_K

_ABOUT = 5e-4  # the heat is of one reading: another a_w has another moisture and asks again
_STEP = 1e-3  # share of the common moisture range over which dq/dX is taken
_LEAST_U = 1e-9  # of ln a_w: curves without scatter still need a weight


@dataclass(frozen=True, slots=True)
class KeptCurve:
    """One isotherm at one temperature as it was kept: moisture at a_w, a_w at moisture, and u of that moisture."""

    temperature_c: float
    a_w: tuple[float, float]
    moisture_db: tuple[float, float]
    moisture_at: Callable[[float], float]
    a_w_at: Callable[[float], float]
    slope_at: Callable[[float], float]  # dX/da at an a_w
    u_moisture_at: Callable[[float], float]  # u of the curve's moisture at an a_w
    dof: float


@dataclass(frozen=True, slots=True)
class CurveSet:
    """Kept isotherms of one product, recipe and direction, two temperatures or more."""

    curves: tuple[KeptCurve, ...]
    product: str = ""
    formula_version: str = ""
    direction: str = "not stated"
    source: str = ""


@dataclass(frozen=True, slots=True)
class _Slope:
    value: float
    u: float
    dof: float


def heat_from_curves(given: CurveSet, a_w: float, from_c: float, to_c: float, u_a_w: float = 0.0) -> HeatOfSorption:
    """The net heat of a product at a reading, from its kept isotherms at two temperatures or more.

        X from the curves at the reading; q = -R d ln a/d(1/T) at X, weighted; u(ln a) = u(X)/(a dX/da)
    given: the kept isotherms [text], one a temperature.
    a_w: the reading [1], inside the curves.
    from_c: temperature of the reading [degC], inside those of the isotherms.
    to_c: temperature asked for [degC], inside those of the isotherms.
    u_a_w: standard uncertainty of the reading [1], zero or more.
    Returns: HeatOfSorption [kJ/mol], its ranges those of the isotherms.
    Raises: InputError for fewer than two temperatures; RangeError for a reading or temperature beyond the isotherms.
    Beyond: nothing is taken from outside the moisture common to all temperatures.
    Example: a 0.29885 at 15 degC and 0.35582 at 35 degC for one moisture: 6.441 kJ/mol.
    Source: Labuza1985; JCGM100, 5.1.2.
    """
    curves = sorted(given.curves, key=lambda one: one.temperature_c)
    temperatures = tuple(one.temperature_c for one in curves)
    if len(set(temperatures)) < 2 or len(set(temperatures)) < len(temperatures):
        said = ", ".join(f"{one:g} degC" for one in temperatures) or "none"
        raise InputError("isotherms", said, "isotherms at two temperatures or more, one a temperature")
    within = ValidRange(temperatures[0], temperatures[-1], "degC", "the temperatures of the isotherms")
    within.check("from_c", from_c)
    within.check("to_c", to_c)
    moisture, slope = _moisture_of(curves, a_w, from_c)
    common = _common(curves)
    ValidRange(*common, "kg/kg dry basis", "the moisture common to all temperatures").check("moisture_db", moisture)
    here = _slope(curves, moisture)
    step = _STEP * (common[1] - common[0])
    low, high = max(common[0], moisture - step), min(common[1], moisture + step)
    by_moisture = (_slope(curves, high).value - _slope(curves, low).value) / (high - low)
    about = max(2.0 * u_a_w, _ABOUT)
    return HeatOfSorption(
        value_kj_mol=here.value,
        u_kj_mol=math.hypot(here.u, by_moisture * slope * u_a_w),
        dof=here.dof,
        temperature_c=(temperatures[0], temperatures[-1]),
        moisture_db=common,
        a_w=(a_w - about, a_w + about),
        source=given.source,
        origin="own isotherms",
        product=given.product,
        formula_version=given.formula_version,
        direction=given.direction,
        remarks=_remarks(given.direction),
    )


def _remarks(direction: str) -> tuple[str, ...]:
    if direction == "not stated":
        return ("whether the isotherms were taken up or down is not stated; hysteresis is not covered",)
    other = "dried" if direction == "adsorption" else "taken up water"
    return (f"the heat is of {direction}; a sample that has {other} since may stand on the other branch",)


def _common(curves: Sequence[KeptCurve]) -> tuple[float, float]:
    low, high = max(one.moisture_db[0] for one in curves), min(one.moisture_db[1] for one in curves)
    if not low < high:
        raise InputError("isotherms", f"{low:.4g} to {high:.4g}", "isotherms that share a range of moisture")
    return low, high


def _moisture_of(curves: Sequence[KeptCurve], a_w: float, from_c: float) -> tuple[float, float]:
    """Moisture and slope at a reading; between two temperatures from both, on 1/T."""
    upper = next(i for i in range(1, len(curves)) if from_c <= curves[i].temperature_c)
    sides = curves[upper - 1 : upper + 1]
    cold, warm = (1.0 / (one.temperature_c + ZERO_C_IN_K) for one in sides)
    share = (1.0 / (from_c + ZERO_C_IN_K) - cold) / (warm - cold)
    weights = (1.0 - share, share)
    moisture = slope = 0.0
    for weight, one in zip(weights, sides, strict=True):
        if weight > 0.0:
            ValidRange(*one.a_w, "", f"the isotherm at {one.temperature_c:g} degC").check("a_w", a_w)
            moisture += weight * one.moisture_at(a_w)
            slope += weight * one.slope_at(a_w)
    return moisture, slope


def _slope(curves: Sequence[KeptCurve], moisture_db: float) -> _Slope:
    """q = -R times the slope of the weighted line of ln a on 1/T; u widened where three or more are not on a line."""
    a_w = [one.a_w_at(moisture_db) for one in curves]
    u = [max(_LEAST_U, one.u_moisture_at(a) / (a * one.slope_at(a))) for one, a in zip(curves, a_w, strict=True)]
    x = [1.0 / (one.temperature_c + ZERO_C_IN_K) for one in curves]
    y = [math.log(a) for a in a_w]
    weights = [1.0 / (one * one) for one in u]
    total = math.fsum(weights)
    x_mean = math.fsum(w * one for w, one in zip(weights, x, strict=True)) / total
    y_mean = math.fsum(w * one for w, one in zip(weights, y, strict=True)) / total
    spread = math.fsum(w * (one - x_mean) ** 2 for w, one in zip(weights, x, strict=True))
    slope = math.fsum(w * (a - x_mean) * b for w, a, b in zip(weights, x, y, strict=True)) / spread
    variance, rest = 1.0 / spread, len(curves) - 2
    misses = [b - y_mean - slope * (a - x_mean) for a, b in zip(x, y, strict=True)]
    ratio = math.fsum(w * m * m for w, m in zip(weights, misses, strict=True)) / rest if rest else 0.0
    shares = [w * ((one - x_mean) / spread) ** 2 for w, one in zip(weights, x, strict=True)]
    limiting = math.fsum(share * share / one.dof for share, one in zip(shares, curves, strict=True))
    excess = variance * max(0.0, ratio - 1.0)
    if rest:
        limiting += excess * excess / rest
    dof = (variance + excess) ** 2 / limiting if limiting > 0.0 else math.inf
    return _Slope(-GAS_KJ_MOL_K * slope, GAS_KJ_MOL_K * math.sqrt(variance + excess), dof)

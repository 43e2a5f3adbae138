"""Vapour pressure over ice, the water activity of ice, and the frost point.

Sublimation pressure of ice Ih by IAPWS R14-08(2011). Food that holds ice has the water activity of ice at its
temperature, whatever else it is made of: the reading then tells the temperature, not the recipe.
"""

from __future__ import annotations

import math
from typing import Any

from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.water import wagner_pruss
from isohume.foundation.water.constants import constants
from isohume.foundation.water.limits import A_W, refuse_where
from isohume.foundation.water.reference_inverse import INVERTIBLE
from isohume.foundation.water.shapes import Numbers, between, evaluated, inside

_C = constants("ice")
TRIPLE_K = float(_C["triple_temperature_k"])
TRIPLE_PA = float(_C["triple_pressure_pa"])
_A1, _A2, _A3 = _C["coefficients"]
_B1, _B2, _B3 = _C["exponents"]
# -20 degC + 273.15 is 253.14999999999998 as floats, and 0.01 degC is just as unlucky: they are inside
_ROUNDING_K = 1e-9
_LOW_K, _HIGH_K = _C["stated_range_k"]
ICE = ValidRange(_LOW_K, _HIGH_K, "K", "ice Ih")
_LOW_K, _HIGH_K = _C["a_w_of_ice"]["range_k"]
ICE_BESIDE_WATER = ValidRange(_LOW_K - _ROUNDING_K, _HIGH_K, "K", "the liquid line is extrapolated to -20 degC")
ABOVE_ICE = ValidRange(TRIPLE_K - _ROUNDING_K, INVERTIBLE.high, "K", "liquid water above the triple point")
# uncertainty of `a_w_of_ice` as the published rows state it; they name no coverage factor
A_W_OF_ICE_UNCERTAINTY = float(_C["a_w_of_ice"]["uncertainty"])


def _powers(t: Any) -> tuple[Any, Any, Any]:
    x = t / TRIPLE_K
    return _A1 * x ** (_B1 - 1.0), _A2 * x ** (_B2 - 1.0), _A3 * x ** (_B3 - 1.0)


def _pressure(m: Any, t: Any) -> Any:
    first, second, third = _powers(t)
    return TRIPLE_PA * m.exp(first + second + third)


_COLDEST_PA = _pressure(math, ICE.low)


def _temperature(m: Any, p: Any) -> Any:
    """T [K] at p [Pa]: Newton on ln p against 1/T, which is nearly a straight line."""
    target = m.log(p / TRIPLE_PA)
    inverse = 1.0 / TRIPLE_K - target / 6141.0  # 6141 K: 51.06 kJ/mol of sublimation over the gas constant
    for _ in range(3):  # two leave 1e-8 K over the whole range
        t = 1.0 / inverse
        first, second, third = _powers(t)
        # d ln p/d(1/T) = -T (T d ln p/dT)
        slope = -t * (first * (_B1 - 1.0) + second * (_B2 - 1.0) + third * (_B3 - 1.0))
        inverse = inverse - (first + second + third - target) / slope
    return 1.0 / inverse


def sublimation_pressure(temperature_k: Numbers) -> Numbers:
    """Vapour pressure over ice Ih.

        ln(p/pt) = (1/θ) (a1 θ^b1 + a2 θ^b2 + a3 θ^b3),  θ = T/Tt
    temperature_k: temperature [K], float or array, 50 to 273.16.
    Returns: pressure [Pa], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: above the triple point ice melts: ask `saturation_pressure`.
    Example: sublimation_pressure(230) = 8.94735 Pa (the release's check value).
    Source: IAPWS2011, eq. 6.
    """
    result: Numbers = inside(_pressure, ICE, "temperature_k", temperature_k)
    return result


def _of_ice(m: Any, t: Any) -> Any:
    return _pressure(m, t) / wagner_pruss.pressure(m, t)


def a_w_of_ice(temperature_k: Numbers) -> Numbers:
    """Water activity of ice, and of any food that holds ice, against supercooled water.

        a_w = p_ice(T)/p_water(T), the reference form continued below 0 degC
    temperature_k: temperature [K], float or array, 253.15 to 273.16.
    Returns: water activity [1], same shape; uncertainty 0.001 (`A_W_OF_ICE_UNCERTAINTY`).
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: below -20 degC the extrapolated liquid line was not checked against printed values.
    Example: a_w_of_ice(263.15) = 0.907 (commonly tabulated, -10 degC).
    Source: IAPWS2011, eq. 6, over WagnerPruss1993, eq. 1, extrapolated.
    """
    result: Numbers = inside(_of_ice, ICE_BESIDE_WATER, "temperature_k", temperature_k)
    return result


def frost_point(a_w: Numbers | float, temperature_k: Numbers | float) -> Numbers:
    """Temperature at which frost forms from the air above a product: the dew point below the triple point.

        p_ice(T_frost) = a_w p_water(T)
    a_w: water activity [1], float or array, above 0 to where frost would melt (0.193 at 25 degC).
    temperature_k: temperature of the product's surface [K], float or array, 273.15 to 623.15.
    Returns: frost point [K], same shape, 50 to 273.16.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: above the triple point dew forms instead: ask `dew_point`.
    Example: frost_point(0.1, 298.15) = 265.41 K (-7.744 degC by a humid-air library at 101325 Pa).
    Source: IAPWS2011, eq. 6, and WagnerPruss1993, eq. 1.
    """
    A_W.check("a_w", a_w)
    INVERTIBLE.check("temperature_k", temperature_k)
    surface_pa = evaluated(wagner_pruss.pressure, temperature_k)
    vapour_pa = a_w * surface_pa
    limits = _COLDEST_PA / surface_pa, TRIPLE_PA / surface_pa
    why = "only there does frost form; above it ask for the dew point"
    refuse_where((vapour_pa < _COLDEST_PA) | (vapour_pa > TRIPLE_PA), "a_w", a_w, *limits, why=why)
    result: Numbers = between(evaluated(_temperature, vapour_pa), ICE.low, ICE.high)
    return result


def _ratio(m: Any, frost_k: Any, surface_k: Any) -> Any:
    return _pressure(m, frost_k) / wagner_pruss.pressure(m, surface_k)


def a_w_from_frost_point(frost_point_k: Numbers | float, surface_temperature_k: Numbers | float) -> Numbers:
    """Water activity of a product from the frost point above it and the temperature of its surface.

        a_w = p_ice(T_frost)/p_water(T_surface)
    frost_point_k: frost point, of frost and not of supercooled dew [K], float or array, 50 to 273.16.
    surface_temperature_k: temperature of the product's surface [K], float or array, 273.16 to 623.15.
    Returns: water activity [1], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: a mirror above the triple point holds dew: ask `a_w_from_dew_point`.
    Example: a_w_from_frost_point(265.406, 298.15) = 0.1000 (-7.744 degC by a humid-air library).
    Source: IAPWS2011, eq. 6, and WagnerPruss1993, eq. 1.
    """
    ICE.check("frost_point_k", frost_point_k)
    ABOVE_ICE.check("surface_temperature_k", surface_temperature_k)
    result: Numbers = evaluated(_ratio, frost_point_k, surface_temperature_k)
    return result

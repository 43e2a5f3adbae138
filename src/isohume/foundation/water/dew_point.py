"""Dew point and water activity: the two ways of saying how much water vapour a product holds above itself.

Everything here stands on the reference form, in both directions, so that a round trip gives the number back.
"""

from __future__ import annotations

import math
from typing import Any

from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.water import reference_inverse
from isohume.foundation.water.limits import A_W, refuse_where
from isohume.foundation.water.reference_inverse import INVERTIBLE
from isohume.foundation.water.shapes import Numbers, between, evaluated
from isohume.foundation.water.wagner_pruss import log_reduced, log_slope, pressure

_FREEZING_PA = pressure(math, INVERTIBLE.low)
# two temperatures closer than this are one temperature: a round trip leaves the last bits
_SAME_K = 1e-9


def dew_point(a_w: Numbers | float, temperature_k: Numbers | float) -> Numbers:
    """Temperature at which dew forms from the air above a product.

        p(T_dew) = a_w p(T), Wagner and Pruss on both sides, solved by Newton steps from the IF97 inverse
    a_w: water activity [1], float or array, from where the dew point is 0 degC (0.193 at 25 degC) to 1.
    temperature_k: temperature of the product's surface [K], float or array, 273.15 to 623.15.
    Returns: dew point [K], same shape, 273.15 to the surface temperature.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: below 0 degC frost forms instead of dew: ask `frost_point`.
    Example: dew_point(0.75, 298.15) = 293.412 K (20.2613 degC by IAPWS-95).
    Source: WagnerPruss1993, eq. 1.
    """
    A_W.check("a_w", a_w)
    INVERTIBLE.check("temperature_k", temperature_k)
    surface_pa = evaluated(pressure, temperature_k)
    vapour_pa = a_w * surface_pa
    why = "below it the dew point lies under 0 degC: ask for the frost point"
    refuse_where(vapour_pa < _FREEZING_PA, "a_w", a_w, _FREEZING_PA / surface_pa, 1.0, why=why)
    dew = evaluated(reference_inverse.temperature, vapour_pa)
    result: Numbers = between(dew, INVERTIBLE.low, temperature_k)
    return result


def _ratio(m: Any, dew_k: Any, surface_k: Any) -> Any:
    return m.exp(log_reduced(m, dew_k) - log_reduced(m, surface_k))


def a_w_from_dew_point(dew_point_k: Numbers | float, surface_temperature_k: Numbers | float) -> Numbers:
    """Water activity of a product from the dew point above it and the temperature of its surface.

        a_w = p(T_dew)/p(T_surface)
    dew_point_k: dew point, of dew and not of frost [K], float or array, 273.15 to the surface temperature.
    surface_temperature_k: temperature of the product's surface [K], float or array, 273.15 to 623.15.
    Returns: water activity [1], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: a dew point above the surface temperature means condensation, not a water activity above 1; a
        mirror below 0 degC holds frost: ask `a_w_from_frost_point`.
    Example: a_w_from_dew_point(293.15, 298.15) = 0.73796 (0.73797 by IAPWS-95).
    Source: WagnerPruss1993, eq. 1.
    """
    INVERTIBLE.check("dew_point_k", dew_point_k)
    INVERTIBLE.check("surface_temperature_k", surface_temperature_k)
    condensing = dew_point_k - surface_temperature_k > _SAME_K
    why = "a dew point above the surface temperature means that water condenses on the surface"
    limits = INVERTIBLE.low, surface_temperature_k
    refuse_where(condensing, "dew_point_k", dew_point_k, *limits, why=why, unit="K")
    result: Numbers = between(evaluated(_ratio, dew_point_k, surface_temperature_k), 0.0, 1.0)
    return result


def u_a_w_from_dew_point(
    dew_point_k: Numbers | float,
    surface_temperature_k: Numbers | float,
    u_dew_point_k: Numbers | float,
    u_surface_temperature_k: Numbers | float,
    correlation: Numbers | float = 0.0,
) -> Numbers:
    """Standard uncertainty of the water activity from a dew point and a surface temperature.

        u(a_w) = a_w sqrt(d² + s² - 2 r d s)
        d = u(T_dew) (dp/dT)/p at T_dew;  s = u(T_surface) (dp/dT)/p at T_surface
    dew_point_k: dew point [K], float or array, 273.15 to the surface temperature.
    surface_temperature_k: temperature of the product's surface [K], float or array, 273.15 to 623.15.
    u_dew_point_k: standard uncertainty of the dew point [K], float or array, 0 or more.
    u_surface_temperature_k: standard uncertainty of the surface temperature [K], float or array, 0 or more.
    correlation: correlation of the two temperatures' errors [1], -1 to 1; above 0 where both sensors were
        adjusted against the same thermometer.
    Returns: standard uncertainty [1], same shape; first order, without the formulation's own 0.025 %.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: as `a_w_from_dew_point`; an uncertainty of several kelvin needs a Monte Carlo run.
    Example: u_a_w_from_dew_point(293.15, 298.15, 0.1, 0.0) = 0.0046, 0.6 % of the water activity.
    Source: JCGM100, clauses 5.1.2 and 5.2.2, on WagnerPruss1993, eq. 1.
    """
    _NOT_NEGATIVE.check("u_dew_point_k", u_dew_point_k)
    _NOT_NEGATIVE.check("u_surface_temperature_k", u_surface_temperature_k)
    _CORRELATION.check("correlation", correlation)
    a_w: Any = a_w_from_dew_point(dew_point_k, surface_temperature_k)
    dew = evaluated(log_slope, dew_point_k) * u_dew_point_k
    surface = evaluated(log_slope, surface_temperature_k) * u_surface_temperature_k
    # (1 - r)(d² + s²) + r (d - s)² is never negative, also where the plain form cancels to the last bit
    variance = (1.0 - correlation) * (dew * dew + surface * surface) + correlation * (dew - surface) ** 2
    result: Numbers = a_w * abs(variance) ** 0.5
    return result


_NOT_NEGATIVE = ValidRange(0.0, math.inf, "K", "a standard uncertainty")
_CORRELATION = ValidRange(-1.0, 1.0, "", "a correlation coefficient")

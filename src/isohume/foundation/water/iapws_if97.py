"""Saturation pressure over liquid water and its inverse in closed form: the fast form of this package.

Region 4 of the IAPWS Industrial Formulation 1997: square roots only, no exponential, and the temperature of
saturation without iteration. Largest relative difference of the pressure over 0 to 100 degC:
    from IAPWS-95 by CoolProp 8.0.0: 7.1e-5
    from the same equation by iapws 1.5.5: 1e-12
    from the reference form: 1.0e-4
"""

from __future__ import annotations

import math
from typing import Any

from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.water.constants import constants
from isohume.foundation.water.shapes import Numbers, between, inside

_C = constants("iapws_if97")
_UNIT_PA = float(_C["unit_pressure_pa"])
_N1, _N2, _N3, _N4, _N5, _N6, _N7, _N8, _N9, _N10 = _C["coefficients"]
LOW_K, HIGH_K = _C["stated_range_k"]


def pressure(m: Any, t: Any) -> Any:
    """p [Pa] at t [K]; `m` is `math` or numpy."""
    x = t + _N9 / (t - _N10)
    a = (x + _N1) * x + _N2
    b = (_N3 * x + _N4) * x + _N5
    c = (_N6 * x + _N7) * x + _N8
    quarter = 2.0 * c / (m.sqrt(b * b - 4.0 * a * c) - b)
    square = quarter * quarter
    return _UNIT_PA * (square * square)


def temperature(m: Any, p: Any) -> Any:
    """T [K] at p [Pa]; the start of the reference form's inverse."""
    x = m.sqrt(m.sqrt(p / _UNIT_PA))
    e = (x + _N3) * x + _N6
    f = (_N1 * x + _N4) * x + _N7
    g = (_N2 * x + _N5) * x + _N8
    s = _N10 - 2.0 * g / (f + m.sqrt(f * f - 4.0 * e * g))
    return 0.5 * (s - m.sqrt(s * s - 4.0 * (_N9 + _N10 * (s - _N10))))


TEMPERATURES = ValidRange(LOW_K, HIGH_K, "K", "IAPWS-IF97 region 4")
PRESSURES = ValidRange(pressure(math, LOW_K), pressure(math, HIGH_K), "Pa", "0 degC to the critical point")


def saturation_pressure_fast(temperature_k: Numbers) -> Numbers:
    """Saturation pressure of water vapour over liquid water, the fast form.

        ϑ = T + n9/(T - n10);  A = ϑ² + n1 ϑ + n2;  B = n3 ϑ² + n4 ϑ + n5;  C = n6 ϑ² + n7 ϑ + n8
        p = (2 C/(-B + sqrt(B² - 4 A C)))⁴ MPa
    temperature_k: temperature [K], float or array, 273.15 to 647.096.
    Returns: pressure [Pa], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: below 0 degC water freezes: ask `sublimation_pressure`; above 647.096 K there is no liquid.
    Example: saturation_pressure_fast(300) = 3536.58941 Pa (Table 35).
    Source: IAPWS2012, eq. 30.
    """
    result: Numbers = inside(pressure, TEMPERATURES, "temperature_k", temperature_k)
    return result


def saturation_temperature(pressure_pa: Numbers) -> Numbers:
    """Temperature at which water vapour of a given pressure is saturated, the inverse of the fast form.

        β = (p/MPa)^(1/4);  E = β² + n3 β + n6;  F = n1 β² + n4 β + n7;  G = n2 β² + n5 β + n8
        D = 2 G/(-F - sqrt(F² - 4 E G));  T = (n10 + D - sqrt((n10 + D)² - 4 (n9 + n10 D)))/2
    pressure_pa: vapour pressure [Pa], float or array, 611.2127 to 22064000.
    Returns: temperature [K], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: at lower pressure the vapour freezes out: ask `frost_point`.
    Example: saturation_temperature(0.1e6) = 372.755919 K (Table 36).
    Source: IAPWS2012, eq. 31.
    """
    result: Numbers = between(inside(temperature, PRESSURES, "pressure_pa", pressure_pa), LOW_K, HIGH_K)
    return result

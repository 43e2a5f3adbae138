"""Saturation pressure over liquid water: the reference form of this package.

The equation of Wagner and Pruss (1993), issued as IAPWS SR1-86(1992), a short form of the saturation line of
IAPWS-95, which carries 0.025 % in this range. Largest relative difference of the pressure over 0 to 100 degC:
    from IAPWS-95 by CoolProp 8.0.0: 7.2e-5
    from the same equation by iapws 1.5.5: 1e-12
    from the fast form: 1.0e-4
"""

from __future__ import annotations

from typing import Any

from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.water.constants import constants
from isohume.foundation.water.shapes import Numbers, inside

_C = constants("wagner_pruss")
CRITICAL_K = float(_C["critical_temperature_k"])
CRITICAL_PA = float(_C["critical_pressure_pa"])
_A1, _A2, _A3, _A4, _A5, _A6 = _C["pressure"]["coefficients"]
# the exponents 1, 3/2, 3, 7/2, 4, 15/2 are written out below with square roots: pow costs ten times as much
LIQUID = ValidRange(
    273.15,
    CRITICAL_K,
    "K",
    "liquid water; the release states 273.16, the last 0.01 K down to 0 degC continues the same curve",
)


def log_reduced(m: Any, t: Any) -> Any:
    """ln(p/pc) at t [K]; `m` is `math` or numpy."""
    x = 1.0 - t / CRITICAL_K
    root = m.sqrt(x)
    x2 = x * x
    inner = _A3 + root * _A4 + x * _A5 + (x2 * x2) * (root * _A6)
    return (x * (_A1 + root * _A2 + x2 * inner)) * (CRITICAL_K / t)


def log_and_slope(m: Any, t: Any) -> tuple[Any, Any]:
    """ln(p/pc) and its derivative to T [1/K] at t [K], in one go."""
    x = 1.0 - t / CRITICAL_K
    root = m.sqrt(x)
    x2 = x * x
    x4 = x2 * x2
    log_p = (x * (_A1 + root * _A2 + x2 * (_A3 + root * _A4 + x * _A5 + x4 * (root * _A6)))) * (CRITICAL_K / t)
    inner = 3.0 * _A3 + root * (3.5 * _A4) + x * (4.0 * _A5) + x4 * (root * (7.5 * _A6))
    return log_p, -(log_p + _A1 + root * (1.5 * _A2) + x2 * inner) / t


def log_slope(m: Any, t: Any) -> Any:
    """d ln(p)/dT [1/K] at t [K]: the relative rise of the pressure."""
    return log_and_slope(m, t)[1]


def pressure(m: Any, t: Any) -> Any:
    """p [Pa] at t [K]; unguarded, also used on the supercooled continuation below 0 degC."""
    return CRITICAL_PA * m.exp(log_reduced(m, t))


def slope(m: Any, t: Any) -> Any:
    """dp/dT [Pa/K] at t [K]."""
    log_p, log_rise = log_and_slope(m, t)
    return CRITICAL_PA * m.exp(log_p) * log_rise


def saturation_pressure(temperature_k: Numbers) -> Numbers:
    """Saturation pressure of water vapour over liquid water, the reference form.

        ln(p/pc) = (Tc/T) (a1 τ + a2 τ^1.5 + a3 τ^3 + a4 τ^3.5 + a5 τ^4 + a6 τ^7.5),  τ = 1 - T/Tc
    temperature_k: temperature [K], float or array, 273.15 to 647.096.
    Returns: pressure [Pa], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: below 0 degC water freezes: ask `sublimation_pressure`; above 647.096 K there is no liquid.
    Example: saturation_pressure(273.16) = 611.657 Pa (Table 1 of the release).
    Source: WagnerPruss1993, eq. 1.
    """
    result: Numbers = inside(pressure, LIQUID, "temperature_k", temperature_k)
    return result


def saturation_pressure_slope(temperature_k: Numbers) -> Numbers:
    """Rise of the saturation pressure with temperature, the derivative of the reference form.

        dp/dT = -(p/T) (ln(p/pc) + a1 + 1.5 a2 τ^0.5 + 3 a3 τ^2 + 3.5 a4 τ^2.5 + 4 a5 τ^3 + 7.5 a6 τ^6.5)
    temperature_k: temperature [K], float or array, 273.15 to 647.096.
    Returns: slope [Pa/K], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: as `saturation_pressure`.
    Example: saturation_pressure_slope(273.16) = 44.436693 Pa/K (Table 1 of the release).
    Source: WagnerPruss1993, eq. 1 differentiated.
    """
    result: Numbers = inside(slope, LIQUID, "temperature_k", temperature_k)
    return result

"""Latent heat of vaporisation of water along the saturation line.

The exact relation of Clausius and Clapeyron with the real volumes of liquid and vapour, from the equations of
IAPWS SR1-86(1992). The release's own enthalpies give the same figure: its auxiliary quantity alpha stands in
both the vapour's and the liquid's enthalpy and drops out of their difference. Largest relative difference
over 0 to 100 degC:
    from IAPWS-95 by CoolProp 8.0.0: 1.6e-4
    from the same equations by iapws 1.5.5: 1e-12
"""

from __future__ import annotations

from typing import Any

from isohume.foundation.water.constants import constants
from isohume.foundation.water.shapes import Numbers, inside
from isohume.foundation.water.wagner_pruss import CRITICAL_K, LIQUID, slope

_C = constants("wagner_pruss")
_CRITICAL_DENSITY = float(_C["critical_density_kg_m3"])
_B1, _B2, _B3, _B4, _B5, _B6 = _C["liquid_density"]["coefficients"]
_C1, _C2, _C3, _C4, _C5, _C6 = _C["vapour_density"]["coefficients"]
MOLAR_MASS_KG_MOL = float(constants("latent_heat")["molar_mass_kg_mol"])


def liquid_density(t: Any) -> Any:
    """Density of saturated liquid [kg/m3] at t [K]."""
    x = (1.0 - t / CRITICAL_K) ** (1.0 / 3.0)
    series = _B1 * x + _B2 * x**2 + _B3 * x**5 + _B4 * x**16 + _B5 * x**43 + _B6 * x**110
    return _CRITICAL_DENSITY * (1.0 + series)


def vapour_density(m: Any, t: Any) -> Any:
    """Density of saturated vapour [kg/m3] at t [K]; `m` is `math` or numpy."""
    x = (1.0 - t / CRITICAL_K) ** (1.0 / 6.0)
    series = _C1 * x**2 + _C2 * x**4 + _C3 * x**8 + _C4 * x**18 + _C5 * x**37 + _C6 * x**71
    return _CRITICAL_DENSITY * m.exp(series)


def _latent_heat(m: Any, t: Any) -> Any:
    volume = 1.0 / vapour_density(m, t) - 1.0 / liquid_density(t)
    return MOLAR_MASS_KG_MOL * t * slope(m, t) * volume


def latent_heat(temperature_k: Numbers) -> Numbers:
    """Heat that evaporates one mole of water at saturation.

        L = M T (dp/dT) (1/ρ_vapour - 1/ρ_liquid)
    temperature_k: temperature [K], float or array, 273.15 to 647.096.
    Returns: latent heat [J/mol], same shape; zero at the critical point.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: below 0 degC ice sublimes, which takes more heat; water in a product adds its net isosteric heat.
    Example: latent_heat(298.15) = 43991 J/mol (43987 by IAPWS-95 itself, 0.01 % less).
    Source: WagnerPruss1993, eqs. 1, 2, 3, 6 and 7.
    """
    result: Numbers = inside(_latent_heat, LIQUID, "temperature_k", temperature_k)
    return result

"""The relation of Clausius and Clapeyron at constant moisture, between two temperatures, both ways.

The heat is net: what sorbed water needs to leave beyond the heat of vaporisation of liquid water. Total is net plus
isohume.foundation.water.latent_heat. A product whose a_w rises with temperature has a positive net heat.
"""

from __future__ import annotations

import math
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.measured import Measured, exp
from isohume.foundation.quantity.ranges import ValidRange

GAS_KJ_MOL_K = 8.31446261815324e-3  # exact since the SI of 2019
ZERO_C_IN_K = 273.15
TEMPERATURE_C = ValidRange(-60.0, 250.0, "degC", "where water sorbed by a solid is measured")
_A_W = ValidRange(1e-9, 1.0, "", "water activity is a fraction; zero has no logarithm")
_HEAT = ValidRange(
    -100.0, 200.0, "kJ/mol", "net heat in kJ/mol; a value in J/g or with the latent heat in it lies beyond"
)


def net_heat_between(a_w_1: Any, temperature_1_c: Any, a_w_2: Any, temperature_2_c: Any) -> Any:
    """The net isosteric heat from the water activities of one moisture at two temperatures.

        q = -R ln(a2/a1)/(1/T2 - 1/T1)
    a_w_1: water activity at the first temperature [1], float or array, above 0 to 1.
    temperature_1_c: the first temperature [degC], float or array, -60 to 250.
    a_w_2: water activity of the same moisture at the second temperature [1], float or array.
    temperature_2_c: the second temperature [degC], float or array, other than the first.
    Returns: net isosteric heat [kJ/mol], same shape; positive where a_w rises with temperature.
    Raises: RangeError outside the ranges; InputError where the two temperatures are the same.
    Beyond: the heat is taken as constant between the two temperatures; far apart it is their mean.
    Example: net_heat_between(0.29885, 15, 0.35582, 35) = 6.441 kJ/mol (chickpea, 15 and 35 degC).
    Source: Labuza1985.
    """
    inverse = _inverse_k("temperature_2_c", temperature_2_c) - _inverse_k("temperature_1_c", temperature_1_c)
    _A_W.check("a_w_1", a_w_1)
    _A_W.check("a_w_2", a_w_2)
    if _any(inverse == 0.0):
        raise InputError("temperature_2_c", temperature_2_c, f"a temperature other than {temperature_1_c}")
    return -GAS_KJ_MOL_K * _log(a_w_2 / a_w_1) / inverse


def shifted_a_w(a_w: Any, heat_kj_mol: Any, from_c: Any, to_c: Any) -> Any:
    """The water activity of the same moisture at another temperature.

        ln(a2/a1) = (q/R)(1/T1 - 1/T2)
    a_w: water activity at the first temperature [1], float or array, above 0 to 1.
    heat_kj_mol: net isosteric heat at this moisture [kJ/mol], float or array, -100 to 200.
    from_c: temperature of the known water activity [degC], float or array, -60 to 250.
    to_c: temperature asked for [degC], float or array, -60 to 250.
    Returns: water activity at the second temperature [1], same shape.
    Raises: RangeError outside the ranges, or where the result would lie above 1.
    Beyond: moisture is constant (a closed, full container) and nothing melts, dissolves or crystallises in between;
        a saturated salt solution does not follow it: its tables do.
    Example: shifted_a_w(0.850, 3, 25, 30) = 0.8671; to 20 degC 0.8326.
    Source: Labuza1985.
    """
    _A_W.check("a_w", a_w)
    _HEAT.check("heat_kj_mol", heat_kj_mol)
    inverse = _inverse_k("from_c", from_c) - _inverse_k("to_c", to_c)
    result = a_w * _exp(heat_kj_mol / GAS_KJ_MOL_K * inverse)
    _A_W.check("a_w at to_c", result)
    return result


def shifted_measured(
    a_w: Measured, heat_kj_mol: Measured, from_c: Measured | float, to_c: Measured | float
) -> Measured:
    """The water activity of the same moisture at another temperature, with the uncertainty of all that goes in.

        a2 = a1 exp((q/R)(1/T1 - 1/T2))
    a_w: water activity at the first temperature [1], above 0 to 1, with its u.
    heat_kj_mol: net isosteric heat at this moisture [kJ/mol], -100 to 200, with its u.
    from_c: temperature of the known water activity [degC], -60 to 250, with its u where it has one.
    to_c: temperature asked for [degC], -60 to 250; exact where it is a specification's.
    Returns: the Measured at the second temperature [1], its influences traced to those of the inputs.
    Raises: RangeError outside the ranges, or where the result would lie above 1.
    Beyond: linear propagation; a heat whose u is as large as itself over tens of kelvin wants Monte Carlo.
    Example: 0.850 (u 0.002) with 3 (u 0.5) kJ/mol from 25 to 30 degC = 0.8671 (u 0.0035).
    Source: Labuza1985; JCGM100, 5.1.2.
    """
    first, second = _as_measured(from_c), _as_measured(to_c)
    shifted_a_w(a_w.value, heat_kj_mol.value, first.value, second.value)  # the ranges, with their reasons
    inverse = 1.0 / (first + ZERO_C_IN_K) - 1.0 / (second + ZERO_C_IN_K)
    return a_w * exp(heat_kj_mol / GAS_KJ_MOL_K * inverse)


def _as_measured(temperature_c: Measured | float) -> Measured:
    return temperature_c if isinstance(temperature_c, Measured) else Measured(temperature_c)


def _inverse_k(field: str, temperature_c: Any) -> Any:
    TEMPERATURE_C.check(field, temperature_c)
    if isinstance(temperature_c, (int, float)):
        return 1.0 / (temperature_c + ZERO_C_IN_K)
    import numpy as np

    return 1.0 / (np.asarray(temperature_c, dtype=float) + ZERO_C_IN_K)


def _exp(x: Any) -> Any:
    if isinstance(x, float):
        return math.exp(x)
    import numpy as np

    return np.exp(x)


def _log(x: Any) -> Any:
    if isinstance(x, float):
        return math.log(x)
    import numpy as np

    return np.log(x)


def _any(condition: Any) -> bool:
    return condition if isinstance(condition, bool) else bool(condition.any())

"""Sucrose and glycerol by molality at 25 degC."""

from __future__ import annotations

import math
from typing import Any

from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.solutions.electrolytes import WATER_KG_PER_MOL
from isohume.foundation.solutions.tables import table


def is_nonelectrolyte(key: str) -> bool:
    """Whether this is a solute that does not split into ions, with a model kept.

    key: the solution's key [text], as solution_key gives it.
    Returns: True or False [1].
    Source: none.
    """
    return key in table("nonelectrolytes")


def nonelectrolyte_entry(key: str) -> dict[str, Any]:
    """What is kept of a sugar or polyol: constants, range, source.

    key: the solution's key [text], as solution_key gives it.
    Returns: the entry of the data file [text].
    Source: RobinsonStokes1961; ChirifeFontanBenmergui1980.
    """
    entry: dict[str, Any] = table("nonelectrolytes")[key]
    return entry


def sucrose_osmotic_coefficient(molality: float) -> float:
    """The molal osmotic coefficient of sucrose at 25 degC.

        phi = 1 + 0.07028 m + 0.01847 m² - 0.004045 m³ + 0.000228 m⁴
    molality: molality [mol/kg], 0 to 6.
    Returns: molal osmotic coefficient [1].
    Raises: RangeError beyond the range.
    Beyond: the solution saturates at about 6 mol/kg.
    Example: sucrose_osmotic_coefficient(5.0) = 1.4500 (the table has 1.450).
    Source: RobinsonStokes1961.
    """
    entry = nonelectrolyte_entry("sucrose")
    ValidRange(0.0, entry["max_molality"], "mol/kg", "sucrose polynomial").check("molality", molality)
    phi = 0.0
    for coefficient in reversed(entry["coefficients"]):
        phi = phi * molality + coefficient
    return phi


def norrish_a_w(molality: float, constant: float) -> float:
    """The water activity of one solute by the Norrish form, natural logarithm.

        a_w = x_w exp(-K x_s²), mole fractions of water and solute
    molality: molality [mol/kg], 0 or more.
    constant: the Norrish constant K on the natural-log scale [1], such as 1.16 for glycerol.
    Returns: water activity [1].
    Raises: RangeError for a negative molality.
    Beyond: the constant holds for the range it was fitted to; the caller keeps it.
    Example: norrish_a_w(4.654, 1.16) = 0.9163 (glycerol 30 % by weight).
    Source: Norrish1966; ChirifeFontanBenmergui1980.
    """
    ValidRange(0.0, 1000.0, "mol/kg", "Norrish").check("molality", molality)
    solute = molality / (molality + 1.0 / WATER_KG_PER_MOL)
    return (1.0 - solute) * math.exp(-constant * solute**2)


def nonelectrolyte_a_w(key: str, molality: float) -> tuple[float, float, float, str]:
    """Water activity, osmotic coefficient, standard uncertainty of the model and source key.

    key: the solution's key [text], as solution_key gives it.
    molality: molality [mol/kg], within the range of the solution.
    Returns: water activity, osmotic coefficient, standard uncertainty [1], source key [text].
    Raises: RangeError beyond the range.
    Source: RobinsonStokes1961; ChirifeFontanBenmergui1980.
    """
    entry = nonelectrolyte_entry(key)
    if key == "sucrose":
        phi = sucrose_osmotic_coefficient(molality)
        a_w = math.exp(-molality * WATER_KG_PER_MOL * phi)
        return a_w, phi, a_w * molality * WATER_KG_PER_MOL * entry["u_phi"], entry["source"]
    ValidRange(0.0, entry["max_molality"], "mol/kg", f"Norrish constant of {key}").check("molality", molality)
    a_w = norrish_a_w(molality, entry["norrish_k"])
    solute = molality / (molality + 1.0 / WATER_KG_PER_MOL)
    phi = -math.log(a_w) / (molality * WATER_KG_PER_MOL) if molality else 1.0
    return a_w, phi, a_w * solute**2 * entry["u_norrish_k"], entry["source"]

"""Electrolytes by molality at 25 degC: the 1973 Pitzer form inside its range, printed tables beyond.

The three-parameter form must not be carried past the molality it was fitted to: at 13.41 mol/kg LiCl it gives
0.195 where the tables give 0.250. Where a table takes over it starts from the value at the seam and
reaches its own at the next tabulated molality, so that a_w falls without a step.
"""

from __future__ import annotations

import math
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.solutions.interpolation import linear, monotone_cubic
from isohume.foundation.solutions.tables import table

WATER_KG_PER_MOL = 0.0180153  # as in the printed tables of osmotic coefficients
A_PHI_25_C = 0.392  # (kg/mol)^(1/2), as in the 1973 paper
B_PITZER = 1.2
ALPHA = 2.0
# common practice: an osmotic coefficient is good to about 0.3 %; no source
RELATIVE_U_PHI = 0.003


def is_electrolyte(key: str) -> bool:
    """Whether osmotic coefficients of this solution are kept.

    key: the solution's key [text], as solution_key gives it.
    Returns: True or False [1].
    Source: none.
    """
    return key in table("electrolytes")


def electrolyte_entry(key: str) -> dict[str, Any]:
    """What is kept of an electrolyte: ions, Pitzer parameters, table, ranges, sources.

    key: the solution's key [text], as solution_key gives it.
    Returns: the entry of the data file [text].
    Raises: InputError that lists the electrolytes kept.
    Source: PitzerMayorga1973; RobinsonStokes1959.
    """
    entry: dict[str, Any] | None = table("electrolytes").get(key)
    if entry is None:
        known = ", ".join(table("electrolytes"))
        raise InputError("solution", key, f"an electrolyte with osmotic coefficients: {known}")
    return entry


def water_activity_from_phi(osmotic_coefficient: float, molality: float, nu: int) -> float:
    """The water activity from a molal osmotic coefficient.

        a_w = exp(-nu m M_w phi), M_w = 0.0180153 kg/mol
    osmotic_coefficient: molal osmotic coefficient phi [1].
    molality: molality m [mol/kg], more than 0.
    nu: particles a formula unit gives in solution [1], 1 for a sugar, 2 for NaCl, 3 for CaCl2.
    Returns: water activity [1].
    Example: water_activity_from_phi(1.1158, 4.0, 2) = 0.8515 (RobinsonStokes1959, table of NaCl).
    Source: RobinsonStokes1959, definition of the osmotic coefficient.
    """
    return math.exp(-nu * molality * WATER_KG_PER_MOL * osmotic_coefficient)


def pitzer_form(molality: float, parameters: dict[str, float], ions: tuple[int, int]) -> float:
    """The three-parameter form for a 1:1, 2:1 or 1:2 salt; `ions` are the counts of cations and anions.

    molality: molality [mol/kg], 0 or more; the caller keeps the range.
    parameters: beta0 and beta1 [kg/mol] and c_phi [kg²/mol²].
    ions: numbers of cations and anions in a formula unit [1].
    Returns: molal osmotic coefficient [1].
    Source: PitzerMayorga1973, eq. 14 and 15, from memory.
    """
    cations, anions = ions
    nu = cations + anions
    # 1:1 salts have |z+ z-| = 1 and I = m, 2:1 and 1:2 salts |z+ z-| = 2 and I = 3 m
    charges = 1 if nu == 2 else 2
    root = math.sqrt(molality if nu == 2 else 3.0 * molality)
    debye_hueckel = -A_PHI_25_C * root / (1.0 + B_PITZER * root)
    second = parameters["beta0"] + parameters["beta1"] * math.exp(-ALPHA * root)
    pairs = cations * anions
    return (
        1.0
        + charges * debye_hueckel
        + molality * (2.0 * pairs / nu) * second
        + molality**2 * (2.0 * pairs * math.sqrt(pairs) / nu) * parameters["c_phi"]
    )


def pitzer_osmotic_coefficient(key: str, molality: float) -> float:
    """The molal osmotic coefficient of a salt at 25 degC by the three-parameter Pitzer form.

        phi = 1 + |z+ z-| f + m (2 nu+ nu-/nu) B + m² (2 (nu+ nu-)^1.5/nu) C
        f = -0.392 √I / (1 + 1.2 √I),  B = beta0 + beta1 exp(-2 √I)
    key: the solution's key [text], as solution_key gives it.
    molality: molality [mol/kg], 0 to the highest molality of the fit.
    Returns: molal osmotic coefficient [1].
    Raises: RangeError beyond the molality of the fit; InputError for a solution without parameters.
    Beyond: the form falls away from the tables (LiCl 13.41 mol/kg: 0.195 against 0.250).
    Example: pitzer_osmotic_coefficient("NaCl", 4.0) = 1.11525 (arithmetic with the printed parameters).
    Source: PitzerMayorga1973, tables I and VI.
    """
    entry = electrolyte_entry(key)
    high: float = entry["pitzer"]["max_molality"]
    ValidRange(0.0, high, "mol/kg", f"Pitzer fit of {key}").check("molality", molality)
    cations, anions = entry["ions"]
    return pitzer_form(molality, entry["pitzer"], (cations, anions))


def osmotic_coefficient(key: str, molality: float) -> tuple[float, float, str]:
    """Osmotic coefficient, its standard uncertainty and the source key, at a molality inside the range.

    key: the solution's key [text], as solution_key gives it.
    molality: molality [mol/kg], within the range of the solution.
    Returns: osmotic coefficient [1], standard uncertainty [1], source key [text].
    Raises: RangeError beyond the table, or beyond the fit where there is no table.
    Source: PitzerMayorga1973; RobinsonStokes1959.
    """
    entry = electrolyte_entry(key)
    seam = entry["pitzer"]["max_molality"]
    if molality <= seam:
        phi = pitzer_osmotic_coefficient(key, molality)
        return phi, math.hypot(RELATIVE_U_PHI * phi, entry["model_difference"]), entry["pitzer"]["source"]
    knots, values = entry["table"]["molality"], entry["table"]["phi"]
    ValidRange(0.0, knots[-1], "mol/kg", f"table of {key}").check("molality", molality)
    phi = monotone_cubic(knots, values, molality)
    doubt = abs(phi - linear(knots, values, molality)) / math.sqrt(3.0)
    following = min(knot for knot in knots if knot > seam)
    if molality < following:
        step = pitzer_osmotic_coefficient(key, seam) - monotone_cubic(knots, values, seam)
        phi += step * (following - molality) / (following - seam)
    u = math.sqrt((RELATIVE_U_PHI * phi) ** 2 + entry["model_difference"] ** 2 + doubt**2)
    return phi, u, entry["table"]["source"]


def highest_molality(key: str) -> float:
    """The highest molality [mol/kg] with a value: the end of the table, else of the Pitzer fit.

    key: the solution's key [text], as solution_key gives it.
    Returns: molality [mol/kg].
    Source: PitzerMayorga1973; RobinsonStokes1959.
    """
    entry = electrolyte_entry(key)
    high: float = entry["pitzer"]["max_molality"]
    return max(high, entry["table"]["molality"][-1]) if entry["table"] else high

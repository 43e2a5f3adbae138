"""Outside checks of reference solutions: every row of saturated_salts.csv and unsaturated_solutions.csv.

One function a kind of row gives a check or the reason why the row is none. The 1977 table is truncated, so
that a value may lie up to one unit of its last digit above it; the tolerance says so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import cache

from isohume.foundation.solutions import (
    pitzer_osmotic_coefficient,
    reference_value,
    saturated_a_w,
    saturated_u,
    solution_key,
    water_activity_from_phi,
)
from isohume.foundation.solutions.saturated import is_saturated_salt, saturated_range
from isohume.foundation.solutions.tables import table
from isohume.foundation.solutions.unsaturated import molality_range
from isohume.outlets.validate.check import Check, Left, last_digit, read_table

SATURATED, UNSATURATED = "saturated_salts.csv", "unsaturated_solutions.csv"
Row = dict[str, str]
Judged = Check | Left

TRUNCATION = 0.011 / 100  # polynomial minus table lies in [0, 0.01) % RH, plus the last bit
HANDBOOK = 0.02  # "generally +/-2 %" of the two-constant handbook equations, read as % RH
KELVIN_AT_0_C = 273.15
# two sigma of the 1973 fits (0.001 to 0.004 in phi) and 0.001 of the printed table
PHI_OF_FIT = 2 * 0.004 + 0.001
PHI_OF_TABLE = 0.001
PHI_OF_SUCROSE = 0.004  # stated beside the 1961 polynomial
LIBRARY, LIBRARY_STRONG_2_TO_1 = 0.002, 0.01


def checks() -> list[Check]:
    """Every row of the two tables that is a check of reference solutions.

    Returns: the checks, in the order of the tables.
    Source: Greenspan1977; RobinsonStokes1959; PitzerMayorga1973.
    """
    return [judged for judged in _judged() if isinstance(judged, Check)]


def left_out() -> list[Left]:
    """Every other row of the two tables, with the reason.

    Returns: the rows left out, in the order of the tables.
    Source: none.
    """
    return [judged for judged in _judged() if isinstance(judged, Left)]


def _judged() -> list[Judged]:
    judged: list[Judged] = []
    for file, kinds in ((SATURATED, _SATURATED_KINDS), (UNSATURATED, _UNSATURATED_KINDS)):
        for row in read_table(file):
            judge = kinds.get(row["kind"])
            judged.append(judge(row) if judge else Left(row["id"], file, f"no rule for kind {row['kind']!r}"))
    return judged


def _saturated(row: Row, what: str, expected: float, computed: float, tolerance: float) -> Check:
    return Check(row["id"], what, row["source"], row["how"], expected, computed, tolerance, SATURATED)


def _unsaturated(row: Row, what: str, expected: float, computed: float, tolerance: float) -> Check:
    return Check(row["id"], what, row["source"], row["how"], expected, computed, tolerance, UNSATURATED)


def _draft(row: Row) -> bool:
    """Recalled and held against nothing: a draft, no check."""
    return row["how"] == "memory" and not row["check"]


def _polynomial(row: Row) -> Judged:
    """Coefficients are what the code computes with: comparing them with themselves would prove nothing."""
    key = solution_key(row["salt"])
    return Left(row["id"], SATURATED, f"coefficients, not a value: checked through the table's rows of {key}")


@cache
def _refitted() -> frozenset[str]:
    """Salts whose polynomial was fitted to the rows it is checked by: such a check guards the transcription only."""
    return frozenset(solution_key(r["salt"]) for r in read_table(SATURATED) if r["kind"] == "polynomial_refit")


def _table_row(row: Row) -> Judged:
    key, at = solution_key(row["salt"]), float(row["t_C"])
    if not is_saturated_salt(key):
        why = table("saturated")["refused"].get(key, "no value of this salt is kept")
        return Left(row["id"], SATURATED, f"{key} is refused: {why}")
    if _draft(row):
        return Left(row["id"], SATURATED, "from memory and held against nothing")
    how = "the table is truncated; refit to these rows" if key in _refitted() else "the table is truncated"
    what = f"saturated {key}, {at:g} degC: a_w ({how})"
    return _saturated(row, what, float(row["value"]) / 100, saturated_a_w(key, at), TRUNCATION)


def _misprint(row: Row) -> Judged:
    key, at = solution_key(row["salt"]), float(row["t_C"])
    what = f"saturated {key}, {at:g} degC: a_w is not the misprint {float(row['value']) / 100:g}"
    return _saturated(row, what, float(row["value2"]) / 100, saturated_a_w(key, at), TRUNCATION)


def _handbook(row: Row) -> Judged:
    key = _known_key(row["salt"])
    if key is None or not is_saturated_salt(key):
        return Left(row["id"], SATURATED, f"no saturated value of {row['salt']} is kept")
    at = min(25.0, float(row["t_max_C"]), saturated_range(key).high)
    theirs = float(row["value"]) * math.exp(float(row["value2"]) / (at + KELVIN_AT_0_C)) / 100
    ours_doubt = 2 * (saturated_u(key, at) or 0.0)
    what = f"saturated {key}, {at:g} degC: a_w of another compilation, its +/-2 % RH and the table's own +/-"
    return _saturated(row, what, theirs, saturated_a_w(key, at), math.hypot(HANDBOOK, ours_doubt))


def _regression(row: Row) -> Judged:
    key, at = solution_key(row["salt"]), float(row["t_C"])
    found = re.search(r"by ([+-][\d.]+) aw", row["check"])
    if found is None:
        return Left(row["id"], SATURATED, "the difference from the 1977 compilation is not stated")
    theirs = math.exp(float(row["value"]) / (at + KELVIN_AT_0_C) - float(row["value2"]))
    what = f"saturated {key}, {at:g} degC: a_w of the older regression minus ours, as stated"
    stated = found.group(1)
    return _saturated(row, what, float(stated), theirs - saturated_a_w(key, at), last_digit(stated))


def _known_key(salt: str) -> str | None:
    from isohume.foundation.quantity.errors import UnknownNameError

    try:
        return solution_key(salt)
    except UnknownNameError:
        return None


def _left(file: str, reason: str) -> Callable[[Row], Judged]:
    return lambda row: Left(row["id"], file, reason)


def _phi_row(row: Row) -> Judged:
    key, molality = solution_key(row["solute"]), float(row["molality"])
    if _draft(row):
        return Left(row["id"], UNSATURATED, "from memory and held against nothing")
    if key == "sucrose":
        tolerance, against = PHI_OF_SUCROSE, "1961 polynomial against the table"
    elif molality <= table("electrolytes")[key]["pitzer"]["max_molality"]:
        tolerance, against = PHI_OF_FIT, "1973 fit against the table"
    else:
        tolerance, against = PHI_OF_TABLE, "table"
    phi = reference_value(key, 25.0, molality).osmotic_coefficient
    what = f"{key} {molality:g} mol/kg: osmotic coefficient, {against}"
    return _unsaturated(row, what, float(row["phi"]), phi or math.nan, tolerance)


def _parameters(row: Row) -> Judged:
    key = solution_key(row["solute"])
    if table("electrolytes")[key]["checked"]:
        reason = f"parameters, not a value: checked through the rows that give values of {key}"
    else:
        reason = f"parameters, and no row gives a value of {key} to hold them against"
    return Left(row["id"], UNSATURATED, reason)


def _library(row: Row) -> Judged:
    key, molality = solution_key(row["solute"]), float(row["molality"])
    if not molality_range(key).holds(molality):
        return Left(row["id"], UNSATURATED, f"{key} is kept to {molality_range(key).high:g} mol/kg only")
    two_to_one = table("electrolytes")[key]["ions"] != [1, 1]
    if two_to_one and key == "CaCl2" and molality == 3:
        reason = "the library's 0.7561 is 0.007 above the printed table (0.7494), more than its own stated 0.002"
        return Left(row["id"], UNSATURATED, reason)
    tolerance = LIBRARY_STRONG_2_TO_1 if two_to_one and molality > 4 else LIBRARY
    computed = reference_value(key, 25.0, molality).a_w
    what = f"{key} {molality:g} mol/kg: a_w of an independent library"
    return _unsaturated(row, what, float(row["aw"]), computed, tolerance)


def _arithmetic(row: Row) -> Judged:
    key, molality = solution_key(row["solute"]), float(row["molality"])
    phi = pitzer_osmotic_coefficient(key, molality)
    computed = water_activity_from_phi(phi, molality, sum(table("electrolytes")[key]["ions"]))
    what = f"{key} {molality:g} mol/kg: a_w, arithmetic of the 1973 form"
    return _unsaturated(row, what, float(row["aw"]), computed, 1e-5)


def _quoted(row: Row) -> Judged:
    key, molality = solution_key(row["solute"]), float(row["molality"])
    computed = reference_value(key, 25.0, molality).a_w
    what = f"{key} {molality:g} mol/kg: a_w quoted in a teaching text"
    return _unsaturated(row, what, float(row["aw"]), computed, last_digit(row["aw"]))


def _rounding_trap(row: Row) -> Judged:
    expected, phi = re.search(r"= ?([\d.]+)$", row["value"]), re.search(r"-2\*([\d.]+)\*6", row["value"])
    if expected is None or phi is None:
        return Left(row["id"], UNSATURATED, "the arithmetic is not printed in a form that can be read")
    computed = water_activity_from_phi(float(phi.group(1)), float(row["molality"]), 2)
    what = "NaCl 6 mol/kg: a_w from phi 1.271 with the molar mass of water 0.0180153 kg/mol, not 0.018"
    return _unsaturated(row, what, float(expected.group(1)), computed, last_digit(expected.group(1)))


_SATURATED_KINDS: dict[str, Callable[[Row], Judged]] = {
    "polynomial_printed": _polynomial,
    "polynomial_refit": _polynomial,
    "table": _table_row,
    "known_misprint": _misprint,
    "A_exp_B_over_T": _handbook,
    "ln_aw_k1_over_T_minus_k2": _regression,
    "rule": _left(SATURATED, "a statement about the table, not a value"),
    "oiml_r121_range": _left(SATURATED, "limits of another document, whose values were not seen"),
}
_UNSATURATED_KINDS: dict[str, Callable[[Row], Judged]] = {
    "phi_table": _phi_row,
    "computed_pyEQL": _library,
    "computed_Pitzer_Mayorga": _arithmetic,
    "quoted_value": _quoted,
    "rounding_trap": _rounding_trap,
    "pitzer_1973": _parameters,
    "pitzer_1973_2to1": _parameters,
    "equation": _left(UNSATURATED, "an equation, not a value: checked through U040-U047"),
}

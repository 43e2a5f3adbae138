"""Saturated salt solutions: the 1977 NBS compilation, with its printed uncertainty."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.solutions.tables import table

PERCENT = 100.0
# the compilation does not say what its +/- stands for; it is taken as an expanded uncertainty
ASSUMED_COVERAGE_FACTOR = 2.0


def is_saturated_salt(key: str) -> bool:
    """Whether a saturated value of this solution is kept.

    key: the solution's key [text], as solution_key gives it.
    Returns: True or False [1].
    Source: none.
    """
    return key in table("saturated")["salts"]


def saturated_entry(key: str) -> dict[str, Any]:
    """What is kept of a saturated salt: coefficients, range, printed uncertainties, source.

    key: the solution's key [text], as solution_key gives it.
    Returns: the entry of the data file [text].
    Raises: InputError that says why there is none.
    Source: Greenspan1977.
    """
    content = table("saturated")
    entry: dict[str, Any] | None = content["salts"].get(key)
    if entry is not None:
        return entry
    why = content["refused"].get(key, "no saturated value of it is kept; give a molality or a target")
    raise InputError("solution", key, f"a salt with a trustworthy saturated value: {why}")


def saturated_range(key: str) -> ValidRange:
    """The temperatures [degC] in which the polynomial of a salt was stated to hold.

    key: the solution's key [text], as solution_key gives it.
    Returns: the range [degC].
    Raises: InputError for a solution without a trustworthy saturated value.
    Source: Greenspan1977.
    """
    low, high = saturated_entry(key)["valid_temperature_c"]
    return ValidRange(low, high, "degC", f"saturated {key}, {saturated_entry(key)['source']}")


def saturated_a_w(key: str, temperature_c: Any) -> Any:
    """The water activity of a saturated salt solution.

        a_w = (A0 + A1 t + A2 t² + A3 t³) / 100
    key: the solution's key [text], as solution_key gives it.
    temperature_c: temperature [degC], float or array, within the salt's range.
    Returns: water activity [1], same shape.
    Raises: RangeError beyond the range; InputError for a solution without a trustworthy saturated value.
    Beyond: the polynomials run away from the data within a few degrees.
    Example: saturated_a_w("NaCl", 22.0) = 0.7541114 (polynomial as printed).
    Source: Greenspan1977, tables 1 and 2.
    """
    coefficients = saturated_entry(key)["coefficients"]
    saturated_range(key).check("temperature_c", temperature_c)
    if not isinstance(temperature_c, (int, float)):
        import numpy as np

        temperature_c = np.asarray(temperature_c, dtype=float)
    percent = 0.0
    for coefficient in reversed(coefficients):
        percent = percent * temperature_c + coefficient
    return percent / PERCENT


def saturated_u(key: str, temperature_c: float) -> float | None:
    """The standard uncertainty of a saturated value, or None where the table prints none.

        u = (printed figure) / 2 / 100, linear in temperature between printed rows
    key: the solution's key [text], as solution_key gives it.
    temperature_c: temperature [degC], within the salt's range.
    Returns: standard uncertainty of the water activity [1], or None.
    Raises: RangeError beyond the range; InputError for a solution without a trustworthy saturated value.
    Beyond: None between the last printed row and the end of the range; nothing is carried over.
    Example: saturated_u("NaCl", 22.0) = 0.00066 (0.14 % RH at 20, 0.12 % RH at 25 degC).
    Source: Greenspan1977, table 2.
    """
    rows = saturated_entry(key)["u_rows"]
    saturated_range(key).check("temperature_c", temperature_c)
    for (t_low, u_low), (t_high, u_high) in pairwise(rows):
        if t_low <= temperature_c <= t_high:
            share = (temperature_c - t_low) / (t_high - t_low)
            printed: float = u_low + share * (u_high - u_low)
            return printed / ASSUMED_COVERAGE_FACTOR / PERCENT
    return None


def saturated_cautions(key: str, u: float | None) -> tuple[str, ...]:
    """What a person must know about a saturated value before trusting it.

    key: the solution's key [text], as solution_key gives it.
    u: the standard uncertainty found for it [1], or None.
    Returns: cautions [text], none where there is nothing to say.
    Source: none.
    """
    entry = saturated_entry(key)
    cautions = []
    if entry["verified"] == "memory":
        cautions.append("value from memory: a refit of the printed table, whose coefficients were not seen")
    if u is None:
        low, high = entry["u_rows"][0][0], entry["u_rows"][-1][0]
        cautions.append(f"no u at this temperature: printed figures at hand run from {low:g} to {high:g} degC")
    return tuple(cautions)

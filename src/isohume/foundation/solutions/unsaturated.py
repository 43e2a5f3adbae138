"""One door to every solution by molality: value, uncertainty, range, and the molality for a wanted value."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.solutions import electrolytes, nonelectrolytes
from isohume.foundation.solutions.saturated import is_saturated_salt, saturated_a_w, saturated_range
from isohume.foundation.solutions.tables import table

MODEL_TEMPERATURE_C = 25.0
TEMPERATURES = ValidRange(20.0, 30.0, "degC", "by molality: 25 degC, and 5 degC about it with a term in u")


@dataclass(frozen=True, slots=True)
class ByMolality:
    """A solution by molality: the value, what it rests on, and its uncertainty in two parts."""

    a_w: float
    osmotic_coefficient: float
    u_model: float
    u_temperature: float
    source: str
    verified: str

    @property
    def u(self) -> float:
        """The standard uncertainty of the value."""
        return math.hypot(self.u_model, self.u_temperature)


def _entry_of(key: str) -> dict[str, Any]:
    if electrolytes.is_electrolyte(key):
        return electrolytes.electrolyte_entry(key)
    if nonelectrolytes.is_nonelectrolyte(key):
        return nonelectrolytes.nonelectrolyte_entry(key)
    known = ", ".join([*table("electrolytes"), *table("nonelectrolytes")])
    raise InputError("solution", key, f"a solution kept by molality: {known}")


def molality_range(key: str) -> ValidRange:
    """The molalities [mol/kg] for which a value is given.

    key: the solution's key [text], as solution_key gives it.
    Returns: the range [mol/kg].
    Raises: InputError for a solution that is not kept by molality.
    Source: PitzerMayorga1973; RobinsonStokes1959.
    """
    entry = _entry_of(key)
    high = electrolytes.highest_molality(key) if electrolytes.is_electrolyte(key) else entry["max_molality"]
    return ValidRange(0.0, high, "mol/kg", f"{key} by molality; nothing is extrapolated")


def by_molality(key: str, molality: float, temperature_c: float = MODEL_TEMPERATURE_C) -> ByMolality:
    """The water activity of a solution of known molality; 25 degC, with a term in u for 20 to 30 degC.

    key: the solution's key [text], as solution_key gives it.
    molality: molality [mol/kg], more than 0 and within the range of the solution.
    temperature_c: temperature of use [degC], 20 to 30.
    Returns: the value with the two parts of its uncertainty [1].
    Raises: RangeError beyond the molalities or temperatures; InputError for a solution not kept.
    Source: PitzerMayorga1973; RobinsonStokes1959; RobinsonStokes1961; Pitzer1991, tables 12 and 13.
    """
    entry = _entry_of(key)
    molality_range(key).check("molality", molality)
    if molality == 0:
        raise InputError("molality", molality, "more than 0 mol/kg")
    TEMPERATURES.check("temperature_c", temperature_c)
    if electrolytes.is_electrolyte(key):
        phi, u_phi, source = electrolytes.osmotic_coefficient(key, molality)
        nu = sum(electrolytes.electrolyte_entry(key)["ions"])
        a_w = electrolytes.water_activity_from_phi(phi, molality, nu)
        u_model = a_w * nu * molality * electrolytes.WATER_KG_PER_MOL * u_phi
    else:
        a_w, phi, u_model, source = nonelectrolytes.nonelectrolyte_a_w(key, molality)
    u_temperature = entry["per_kelvin"] * (1.0 - a_w) * abs(temperature_c - MODEL_TEMPERATURE_C)
    verified = table("sources")[source]
    return ByMolality(a_w, phi, u_model, u_temperature, source, verified)


def is_checked(key: str) -> bool:
    """Whether the numbers behind a solution were held against a printed or measured value of it.

    key: the solution's key [text], as solution_key gives it.
    Returns: True or False [1].
    Source: none.
    """
    return bool(_entry_of(key)["checked"])


def end_of_range(key: str) -> str | None:
    """Where the upper end of the molality range has no source: what is said of it, else None.

    key: the solution's key [text], as solution_key gives it.
    Returns: a remark [text], or None.
    Source: none.
    """
    remark: str | None = _entry_of(key).get("max_from")
    return remark


def lowest_a_w(key: str) -> float:
    """The water activity at the highest molality of the model.

    key: the solution's key [text], as solution_key gives it.
    Returns: water activity [1].
    Source: PitzerMayorga1973; RobinsonStokes1959.
    """
    return by_molality(key, molality_range(key).high).a_w


def saturation_a_w(key: str, temperature_c: float) -> float | None:
    """What the salt reaches before it saturates, or None where no saturated value is kept.

    key: the solution's key [text], as solution_key gives it.
    temperature_c: temperature [degC].
    Returns: water activity [1], or None.
    Source: Greenspan1977.
    """
    if not is_saturated_salt(key) or not saturated_range(key).holds(temperature_c):
        return None
    value: float = saturated_a_w(key, temperature_c)
    return value


def solve_molality(key: str, target_a_w: float, temperature_c: float = MODEL_TEMPERATURE_C) -> float:
    """The molality [mol/kg] for a wanted water activity, or a refusal that names what can be reached.

    key: the solution's key [text], as solution_key gives it.
    target_a_w: wanted water activity [1], between 0 and 1.
    temperature_c: temperature of use [degC], 20 to 30; it decides what the salt reaches at saturation.
    Returns: molality [mol/kg].
    Raises: InputError naming the a_w at which the salt saturates, or at which the model ends.
    Source: PitzerMayorga1973; RobinsonStokes1959.
    """
    if not 0 < target_a_w < 1:
        raise InputError("target_a_w", target_a_w, "a fraction between 0 and 1, such as 0.85")
    lowest, saturated = lowest_a_w(key), saturation_a_w(key, temperature_c)
    if saturated is not None and target_a_w < saturated:
        allowed = f"{saturated:.4f} or more: {key} saturates at that a_w ({temperature_c:g} degC)"
        raise InputError("target_a_w", target_a_w, allowed)
    if target_a_w < lowest:
        high = molality_range(key).high
        allowed = f"{lowest:.4f} or more: the model of {key} ends there, at {high:g} mol/kg"
        raise InputError("target_a_w", target_a_w, allowed)
    return _bisect(lambda m: by_molality(key, m).a_w - target_a_w, 0.0, molality_range(key).high)


def _bisect(excess: Callable[[float], float], low: float, high: float) -> float:
    """The root of a falling function by halving; a_w falls all the way, so that there is one root."""
    while True:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            return high if middle == low else middle
        if excess(middle) > 0:
            low = middle
        else:
            high = middle

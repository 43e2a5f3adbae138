"""Solutions of known water activity: what they should read, how surely, and how to prepare them.

Names are bound on first use, so that asking for a saturated salt loads neither the electrolyte models nor
the recipes.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from isohume.foundation.solutions.electrolytes import pitzer_osmotic_coefficient, water_activity_from_phi
    from isohume.foundation.solutions.names import known_solutions, solution_key
    from isohume.foundation.solutions.nonelectrolytes import norrish_a_w, sucrose_osmotic_coefficient
    from isohume.foundation.solutions.preparation import PreparedSolution, prepared
    from isohume.foundation.solutions.reference import ReferenceValue, molality_for, reference_value
    from isohume.foundation.solutions.saturated import saturated_a_w, saturated_u
    from isohume.foundation.solutions.slurry_recipe import SlurryRecipe, slurry

_HOME = {
    "PreparedSolution": "preparation",
    "ReferenceValue": "reference",
    "SlurryRecipe": "slurry_recipe",
    "known_solutions": "names",
    "molality_for": "reference",
    "norrish_a_w": "nonelectrolytes",
    "pitzer_osmotic_coefficient": "electrolytes",
    "prepared": "preparation",
    "reference_value": "reference",
    "saturated_a_w": "saturated",
    "saturated_u": "saturated",
    "slurry": "slurry_recipe",
    "solution_key": "names",
    "sucrose_osmotic_coefficient": "nonelectrolytes",
    "water_activity_from_phi": "electrolytes",
}

__all__ = [
    "PreparedSolution",
    "ReferenceValue",
    "SlurryRecipe",
    "known_solutions",
    "molality_for",
    "norrish_a_w",
    "pitzer_osmotic_coefficient",
    "prepared",
    "reference_value",
    "saturated_a_w",
    "saturated_u",
    "slurry",
    "solution_key",
    "sucrose_osmotic_coefficient",
    "water_activity_from_phi",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value

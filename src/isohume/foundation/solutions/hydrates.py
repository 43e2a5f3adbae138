"""Hydrates: the water a crystal brings with it is counted as water of the solution."""

from __future__ import annotations

import re
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions.electrolytes import WATER_KG_PER_MOL
from isohume.foundation.solutions.names import solution_key
from isohume.foundation.solutions.tables import table

_WATERS = re.compile(r"[\s.·*•∙⋅-]+(\d+(?:\.\d+)?)?\s*h2o$", re.IGNORECASE)
_WORDS = {
    "anhydrous": 0.0,
    "hemihydrate": 0.5,
    "monohydrate": 1.0,
    "sesquihydrate": 1.5,
    "dihydrate": 2.0,
    "trihydrate": 3.0,
    "tetrahydrate": 4.0,
    "pentahydrate": 5.0,
    "hexahydrate": 6.0,
    "heptahydrate": 7.0,
}
G_PER_KG = 1000.0


@dataclass(frozen=True, slots=True)
class Weighed:
    """The substance as it stands on the balance: with how many waters, and what of it is salt."""

    name: str
    waters: float
    salt_g_per_mol: float

    @property
    def salt_share(self) -> float:
        """Grams of anhydrous salt in a gram as weighed."""
        return self.salt_g_per_mol / (self.salt_g_per_mol + self.waters * WATER_KG_PER_MOL * G_PER_KG)


def weighed_as(key: str, hydrate: str | None) -> Weighed:
    """The substance as weighed: anhydrous for None, else the hydrate (MgCl2.6H2O or hexahydrate).

    key: the solution's key [text], as solution_key gives it.
    hydrate: formula or name of the hydrate [text], or None for the anhydrous substance.
    Returns: the substance as weighed [g/g].
    Raises: InputError for a hydrate of another substance or one that cannot be read.
    Source: none.
    """
    mass: float = table("substances")[key]["g_per_mol"]
    if hydrate is None:
        return Weighed(key, 0.0, mass)
    text = hydrate.strip()
    example = table("substances")[key]["hydrate"] or f"{key}.2H2O"
    allowed = f"a hydrate of {key} by formula or name, such as {example}"
    words = text.casefold().split()
    if words and words[-1] in _WORDS:
        base, waters = " ".join(text.split()[:-1]), _WORDS[words[-1]]
    else:
        found = _WATERS.search(text)
        if found is None:
            raise InputError("hydrate", hydrate, allowed)
        base, waters = text[: found.start()], float(found.group(1) or 1)
    if base and solution_key(base) != key:
        raise InputError("hydrate", hydrate, allowed)
    return Weighed(hydrate_formula(key, waters), waters, mass)


def stable_crystal(key: str) -> Weighed:
    """The crystal that stands in the saturated solution at room temperature.

    key: the solution's key [text], as solution_key gives it.
    Returns: the crystal, with its share of anhydrous salt [g/g].
    Source: CRCHandbook.
    """
    entry = table("substances")[key]
    return Weighed(entry["hydrate"] or key, entry["hydrate_waters"], entry["g_per_mol"])


def hydrate_formula(key: str, waters: float) -> str:
    """The formula of a hydrate, such as K2CO3.1.5H2O; the key itself without water.

    key: the solution's key [text], as solution_key gives it.
    waters: molecules of water in a formula unit [1], 0 or more.
    Returns: the formula [text].
    Source: none.
    """
    if waters == 0:
        return key
    return f"{key}.{'' if waters == 1 else format(waters, 'g')}H2O"

"""The recipe of a saturated slurry: crystals under a thin film of their own saturated solution."""

from __future__ import annotations

import math
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.solutions.hydrates import stable_crystal
from isohume.foundation.solutions.names import hazard_cautions, solution_key
from isohume.foundation.solutions.saturated import saturated_entry, saturated_range
from isohume.foundation.solutions.tables import table

# six parts of crystals settle under a thin film of four parts of solution; common practice, no source
CRYSTAL_SHARE = 0.6
SOLUBILITY_TEMPERATURE_C = 25.0
TEMPERATURES = ValidRange(15.0, 30.0, "degC", "solubilities are kept for 25 degC")
RULE = (
    "visible crystals under a thin film of liquid: 60 g of crystals in 100 g of slurry "
    "(common practice, no source); remake when no crystal is seen or no liquid is seen"
)


@dataclass(frozen=True, slots=True)
class SlurryRecipe:
    """What to weigh for a saturated slurry, from the anhydrous salt or from its hydrate.

    `salt_g` and `water_with_anhydrous_g` belong together, and so do `hydrate_g` and `water_g`: the crystal's
    own water is already subtracted from `water_g`. Without a hydrate both ways are the same.
    """

    solution: str
    total_g: float
    temperature_c: float
    salt_g: float
    water_with_anhydrous_g: float
    hydrate: str | None
    hydrate_g: float | None
    water_g: float
    solubility_g_per_100_g_water: float
    solubility_temperature_c: float
    source: str
    verified: str
    rule: str
    cautions: tuple[str, ...]


def slurry(solution: str, total_g: float, temperature_c: float = 25.0) -> SlurryRecipe:
    """The recipe of a saturated slurry of a given mass.

        salt = total (0.6 share + 0.4 s/(100 + s)), share = M_anhydrous/M_crystal, s = solubility
        m_hydrate = m_anhydrous M_hydrate/M_anhydrous, its water subtracted from the water to add
    solution: formula or English name [text], any case.
    total_g: mass of the whole slurry [g], more than 0.
    temperature_c: temperature of use [degC], 15 to 30 and within the salt's range.
    Returns: what to weigh [g], with the solubility used and its source.
    Raises: InputError for a salt without saturated value or solubility; RangeError beyond the temperatures.
    Beyond: away from 25 degC a little more or less dissolves; the crystals are ample for it.
    Example: slurry("NaCl", 50.0).salt_g = 35.29 (30 g of crystals, 20 g of solution).
    Source: CRCHandbook, solubilities, from memory.
    """
    key = solution_key(solution)
    saturated_entry(key)
    if not math.isfinite(total_g) or total_g <= 0:
        raise InputError("total_g", total_g, "a mass greater than 0 g")
    TEMPERATURES.check("temperature_c", temperature_c)
    saturated_range(key).check("temperature_c", temperature_c)
    entry = table("substances")[key]
    solubility = entry["solubility_g_per_100_g_water"]
    if solubility is None:
        raise InputError("solution", key, "a salt whose solubility is kept; for this one none is at hand")
    crystal = stable_crystal(key)
    crystals_g, liquid_g = CRYSTAL_SHARE * total_g, (1.0 - CRYSTAL_SHARE) * total_g
    salt_g = crystals_g * crystal.salt_share + liquid_g * solubility / (100.0 + solubility)
    as_crystal_g = salt_g / crystal.salt_share
    return SlurryRecipe(
        solution=key,
        total_g=float(total_g),
        temperature_c=float(temperature_c),
        salt_g=salt_g,
        water_with_anhydrous_g=total_g - salt_g,
        hydrate=crystal.name if crystal.waters else None,
        hydrate_g=as_crystal_g if crystal.waters else None,
        water_g=total_g - as_crystal_g,
        solubility_g_per_100_g_water=solubility,
        solubility_temperature_c=SOLUBILITY_TEMPERATURE_C,
        source="CRCHandbook",
        verified=entry["solubility_verified"],
        rule=RULE,
        cautions=hazard_cautions(key),
    )

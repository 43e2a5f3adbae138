"""A solution as it was prepared on the balance: its molality, its water activity and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions.hydrates import G_PER_KG, Weighed, weighed_as
from isohume.foundation.solutions.names import hazard_cautions, solution_key
from isohume.foundation.solutions.unsaturated import ByMolality, by_molality, molality_range

NOT_INCLUDED = "evaporation while preparing and storing is not in u: keep it closed, weigh it again"


@dataclass(frozen=True, slots=True)
class PreparedSolution:
    """What was weighed, the solution it gives, and the parts of u: (name, standard uncertainty of a_w)."""

    solution: str
    weighed: str
    temperature_c: float
    molality: float
    g_per_100_g_water: float
    a_w: float
    u: float
    budget: tuple[tuple[str, float], ...]
    source: str
    verified: str
    cautions: tuple[str, ...]


def prepared(
    solution: str,
    salt_g: float,
    water_g: float,
    u_balance_g: float,
    purity: float,
    u_purity: float,
    u_water_g: float | None = None,
    hydrate: str | None = None,
    temperature_c: float = 25.0,
) -> PreparedSolution:
    """The water activity of a solution from what was weighed, with its uncertainty.

        m = p s share / M / (water + p s (1 - share)),  u² = sum of (∂a_w/∂x u_x)² + u_model² + u_temperature²
    solution: formula or English name [text], any case.
    salt_g: solute as weighed [g], more than 0; the hydrate where `hydrate` is given.
    water_g: water added [g], more than 0.
    u_balance_g: standard uncertainty of the weighing of the solute [g], 0 or more.
    purity: mass fraction of the solute as weighed [1], more than 0 and at most 1; the rest is taken as inert.
    u_purity: standard uncertainty of the purity [1], 0 or more.
    u_water_g: standard uncertainty of the water [g]; None takes u_balance_g.
    hydrate: the hydrate that was weighed [text], by formula or name; None for the anhydrous substance.
    temperature_c: temperature of use [degC], 20 to 30.
    Returns: molality, water activity, u and its parts [1].
    Raises: InputError for a mass, purity or uncertainty that cannot be; RangeError beyond the model.
    Beyond: buoyancy of air is left out; evaporation is not in u.
    Example: prepared("NaCl", 23.583, 100.0, 0.001, 1.0, 0.0).a_w = 0.8500; with 1 % more salt 0.8482.
    Source: JCGM100, 5.1.
    """
    key = solution_key(solution)
    form = weighed_as(key, hydrate)
    u_water_g = u_balance_g if u_water_g is None else u_water_g
    _check(salt_g, water_g, u_balance_g, purity, u_purity, u_water_g)
    molality = _molality(form, salt_g, water_g, purity)
    found = by_molality(key, molality, temperature_c)
    slope = _slope(key, molality)
    per_salt, per_water, per_purity = _sensitivities(form, salt_g, water_g, purity)
    budget = (
        ("weighing of the solute", abs(slope * per_salt) * u_balance_g),
        ("weighing of the water", abs(slope * per_water) * u_water_g),
        ("purity", abs(slope * per_purity) * u_purity),
        ("model", found.u_model),
        ("temperature", found.u_temperature),
    )
    return _solution(key, form, temperature_c, molality, found, budget)


def _solution(
    key: str,
    form: Weighed,
    temperature_c: float,
    molality: float,
    found: ByMolality,
    budget: tuple[tuple[str, float], ...],
) -> PreparedSolution:
    return PreparedSolution(
        solution=key,
        weighed=form.name,
        temperature_c=float(temperature_c),
        molality=molality,
        g_per_100_g_water=molality * form.salt_g_per_mol * 100.0 / G_PER_KG,
        a_w=found.a_w,
        u=math.hypot(*(part for _, part in budget)),
        budget=budget,
        source=found.source,
        verified=found.verified,
        cautions=(NOT_INCLUDED, *hazard_cautions(key)),
    )


def _check(salt_g: float, water_g: float, u_balance_g: float, purity: float, u_purity: float, u_water_g: float) -> None:
    for field, mass in (("salt_g", salt_g), ("water_g", water_g)):
        if not math.isfinite(mass) or mass <= 0:
            raise InputError(field, mass, "a mass greater than 0 g")
    for field, u in (("u_balance_g", u_balance_g), ("u_purity", u_purity), ("u_water_g", u_water_g)):
        if not math.isfinite(u) or u < 0:
            raise InputError(field, u, "a standard uncertainty, 0 or more")
    if not 0 < purity <= 1:
        raise InputError("purity", purity, "a mass fraction greater than 0 and at most 1, such as 0.999")


def _molality(form: Weighed, salt_g: float, water_g: float, purity: float) -> float:
    pure = purity * salt_g
    all_water_g = water_g + pure * (1.0 - form.salt_share)
    return pure * form.salt_share / form.salt_g_per_mol / all_water_g * G_PER_KG


def _sensitivities(form: Weighed, salt_g: float, water_g: float, purity: float) -> tuple[float, float, float]:
    """d(molality)/d(salt_g), d(molality)/d(water_g), d(molality)/d(purity), by calculus."""
    pure = purity * salt_g
    all_water_g = water_g + pure * (1.0 - form.salt_share)
    molality = _molality(form, salt_g, water_g, purity)
    # the crystal's own water grows with the solute: m rises only by the added water's share of all water
    relative = water_g / all_water_g
    return molality * relative / salt_g, -molality / all_water_g, molality * relative / purity


def _slope(key: str, molality: float) -> float:
    """d(a_w)/d(molality) from a small step to both sides, to one side at the ends of the range."""
    span = molality_range(key)
    step = 1e-4 * max(molality, 0.01)
    low, high = max(molality - step, molality / 2), min(molality + step, span.high)
    return (by_molality(key, high).a_w - by_molality(key, low).a_w) / (high - low)

"""The computed figures of the register's pages, each with how it was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from isohume.bench.decision.budget import LotBudget, own_data_budget, starter_budget
from isohume.bench.record.lot_description import STARTER_SOURCE, STARTER_U
from isohume.foundation.metrology.budget import combine
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.solutions import ReferenceValue, reference_value
from isohume.foundation.solutions.tables import table
from isohume.outlets.site.register.models import BalanceRecord, MethodVersion, SolutionLot

How = Mapping[str, Any]
"""What look's part `how` opens: formula, inputs, source, range, depends."""

SATURATED = "a_w = sum(A_i tⁱ) / 100, t in degC, over crystals that are still to be seen"
BY_MOLALITY = "a_w = exp(−ν m M_w φ)"
TRUST = {"text": "read in the source", "memory": "from memory: hold it against the source before it decides anything"}


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure in words, how it was found, and what to mind; the number itself for pictures."""

    words: str
    how: How
    cautions: tuple[str, ...] = ()
    number: float | None = None


def value_of(lot: SolutionLot, temperature_c: float = 25.0) -> Figure:
    """Where a reference lot should read at a temperature; beyond its range that is said instead."""
    molality = float(lot.molality) if lot.molality else None
    try:
        found = reference_value(lot.solution, temperature_c, molality)
    except InputError as error:
        return Figure(f"not known at {temperature_c:g} degC", {"range": error.allowed})
    shown, shown_u = round_together(found.a_w, found.u)
    u = f"u {shown_u}" if shown_u else "no published uncertainty"
    return Figure(f"{shown} ({u}) at {temperature_c:g} degC", _how_value(found), found.cautions, found.a_w)


def _how_value(found: ReferenceValue) -> How:
    low, high = found.valid_temperature_c
    inputs: list[tuple[str, str]] = [("Solution", found.solution), ("Temperature", f"{found.temperature_c:g} degC")]
    if found.molality is not None:
        inputs += [
            ("Molality", f"{found.molality:g} mol/kg"),
            ("Osmotic coefficient φ", f"{found.osmotic_coefficient:.4f}"),
            ("As weighed", f"{found.g_per_100_g_water:.4f} g in 100 g of water, without crystal water"),
        ]
    inputs.append(("Constants", TRUST[found.verified]))
    return {
        "formula": SATURATED if found.molality is None else BY_MOLALITY,
        "inputs": inputs,
        "range": f"{low:g} to {high:g} degC",
        "depends": "the temperature of the solution" if found.molality is None else "the weighing",
        "source": found.source,
    }


def as_weighed(lot: SolutionLot, weighing: BalanceRecord) -> Figure | None:
    """The molality that the weights give, beside the one the lot is kept by; None for a saturated lot."""
    if not lot.molality:
        return None
    molality = (
        float(weighing.salt_g) / table("substances")[lot.solution]["g_per_mol"] / (float(weighing.water_g) / 1000)
    )
    try:
        a_w = f"a_w {reference_value(lot.solution, 25.0, molality).a_w:.4f}"
    except InputError as error:
        a_w = f"beyond what its value is known for, {error.allowed}"
    salt = ("Salt", f"{weighing.salt_g} g", "as if pure and without crystal water")
    how = {
        "formula": "m = salt / (M · water)",
        "inputs": [salt, ("Water", f"{weighing.water_g} g")],
        "range": "a hydrate or an impure salt gives another molality: the lot's own one is what checks use",
        "depends": "the crystal water of the salt",
        "source": "definition of molality",
    }
    return Figure(f"{molality:.4f} mol/kg ({a_w}); the lot is kept as {lot.molality} mol/kg", how)


def budget_of(version: MethodVersion) -> LotBudget:
    """The budget that a decision by this version stands on, for as many portions as the method asks."""
    kept, n = version.budget, max(version.portions, 1)
    if kept is None:
        return starter_budget(STARTER_U, None, n, False, STARTER_SOURCE)
    s_r = Decimal(kept.s_r) if kept.s_r else None
    if kept.basis == "own data" and s_r is not None:
        return own_data_budget(Decimal(kept.u_other), s_r, n, False, kept.source)
    s_reproducibility = Decimal(kept.s_reproducibility) if kept.s_reproducibility else STARTER_U
    return starter_budget(s_reproducibility, s_r, n, False, kept.source)


def uncertainty_of(version: MethodVersion) -> Figure:
    """The standard uncertainty of a lot's value by this version, component by component."""
    budget = budget_of(version)
    shares = combine(budget.components).shares
    largest = max(zip(shares, budget.components, strict=True), key=lambda pair: pair[0])[1]
    parts = [(part.name, f"{part.u:.5f}", part.source) for part in budget.components]
    shown = round_together(budget.u, budget.u)[1] or f"{budget.u:.2g}"
    return Figure(
        f"u = {shown} for the mean of {version.portions} portions"
        if version.portions > 1
        else f"u = {shown} for one portion",
        {
            "formula": "u² = u_other² + s_r²/n" if len(parts) > 1 else "u = s_R, whatever n is",
            "inputs": parts,
            "range": "independent components; positions, warm samples and readings beyond the references add to it",
            "depends": largest.name,
            "source": f"JCGM100, 5.1; {budget.source}",
        },
        (budget.label,),
        budget.u,
    )

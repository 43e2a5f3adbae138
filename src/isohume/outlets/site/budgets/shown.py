"""A proposal in words: the answer, component by component, how it was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from isohume.bench.decision.living_budget import ENOUGH_DOF
from isohume.bench.decision.unverified_budget import UNVERIFIED, is_unverified
from isohume.outlets.site.budgets.models import BudgetRefresh
from isohume.outlets.site.budgets.proposal import Case, Proposal
from isohume.outlets.site.register.figures import budget_of
from isohume.outlets.site.register.models import Budget, MethodVersion


@dataclass(frozen=True, slots=True)
class ComponentRow:
    """One line of the comparison."""

    name: str
    present: str
    proposed: str
    share: str
    dof: str
    how: Mapping[str, Any]
    past: str = ""  # what of it is historical, unverified


def answer(proposal: Proposal) -> tuple[str, str]:
    """What is proposed, and its mark."""
    now = budget_of(proposal.version).u
    if proposal.deciding is None:
        return f"u = {now:.4f} stays: own data are not enough yet", "wait"
    n = max(proposal.version.portions, 1)
    then = proposal.lot_budget(n).u
    change = "wider" if then > now else "narrower"
    if proposal.unverified:
        return f"u = {then:.4f} with {UNVERIFIED} data, {now:.4f} now: guard bands become {change}", "wait"
    if f"{then:.4f}" == f"{now:.4f}":
        return f"u = {then:.4f} by own data, as now", "pass"
    return f"u = {then:.4f} by own data, {now:.4f} now: guard bands become {change}", "info"


def component_rows(proposal: Proposal) -> list[ComponentRow]:
    """The components of the deciding case, then u_other and s_r as they would be set; the present ones beside."""
    case = proposal.deciding
    if case is None:
        return []
    present = proposal.version.budget
    before = _kept_components(present)
    total = case.budget.u_other**2
    rows = [
        ComponentRow(
            part.component.name,
            before.get(part.component.name, "not kept apart"),
            f"{part.component.u:.5f}",
            f"{100 * part.component.u**2 / total:.0f} %",
            _dof(part.component.dof),
            {"formula": part.formula, "inputs": [("Found", part.found)], "source": "JCGM100, 5.1"},
            case.seeds.said_of(part.component.name, case.budget),
        )
        for part in case.budget.parts
    ]
    u_other = present.u_other if present and present.u_other else "none"
    s_r = present.s_r if present and present.s_r else "none"
    return [*rows, _u_other_row(case, proposal, u_other), _s_r_row(case, proposal, s_r)]


def _u_other_row(case: Case, proposal: Proposal, present: str) -> ComponentRow:
    how = {
        "formula": "u_other² = sum of the squares above, rounded upwards to four decimals",
        "inputs": [("Unrounded", f"{case.budget.u_other:.6f}")],
        "source": "JCGM100, 5.1.2 and G.4.1",
    }
    return ComponentRow("u_other, all of these", present, f"{proposal.u_other:f}", "", _dof(case.budget.dof_other), how)


def _s_r_row(case: Case, proposal: Proposal, present: str) -> ComponentRow:
    how = {
        "formula": "s_r² = sum of squares of portions about their sample's mean / degrees of freedom",
        "inputs": [("Unrounded", f"{case.budget.s_r:.6f}")],
        "range": f"at least {ENOUGH_DOF} degrees of freedom; divided by the number of portions where a lot is judged",
        "source": "ISO5725-2, 7.4; ISO5725-6, 4",
    }
    dof, pairs = case.budget.repeatability.dof, case.seeds.pairs
    past = f"{pairs} of {dof:g} degrees of freedom {UNVERIFIED}" if pairs else ""
    return ComponentRow("s_r, one portion", present, f"{proposal.s_r:f}", "", _dof(dof), how, past)


def _kept_components(budget: Budget | None) -> dict[str, str]:
    """The components of a budget that came of a refresh."""
    refresh = BudgetRefresh.objects.filter(budget=budget).first() if budget is not None else None
    if refresh is None or refresh.content["deciding"] is None:
        return {}
    return {part["name"]: f"{part['u']:.5f}" for part in refresh.content["deciding"]["components"]}


def _dof(dof: float) -> str:
    return "known" if dof == float("inf") else f"{dof:.0f}"


def case_rows(proposal: Proposal) -> list[tuple[str, str, str, str, str, str]]:
    """Every instrument and product range, the deciding one marked in words."""
    n = max(proposal.version.portions, 1)
    return [
        (
            f"{case.product.name} on {case.instrument.name}",
            str(case.runs),
            str(case.budget.checks) + (f", {case.seeds.checks} {UNVERIFIED}" if case.seeds.checks else ""),
            ", ".join(case.budget.references) or "none",
            f"{case.budget.u(n):.4f}" if case.budget.basis == "own data" else "not enough data",
            "decides" if case is proposal.deciding else "",
        )
        for case in proposal.cases
    ]


def present_words(version: MethodVersion) -> str:
    """The present budget in a line."""
    budget = version.budget
    if budget is None:
        return "The starter budget of the published studies holds, s_R 0.009."
    basis = "" if is_unverified(budget.source) else f"from {budget.basis}: "
    return f"In force since {budget.since:%Y-%m-%d}, {basis}{budget.source}"

"""How each figure of a record was found: formula, inputs, source, valid range, and what it depends on most."""

from __future__ import annotations

from typing import Any

from isohume.bench.record.judge import JudgedLot


def how_figures_were_found(judged: JudgedLot) -> list[dict[str, Any]]:
    """One explanation for every computed figure of a judged lot.

    judged: the judged lot [text].
    Returns: objects with figure, formula, inputs, source, valid, depends_most_on [text].
    Source: ISO17025, 7.11.6.
    """
    found = [_references(judged), _checks(judged)]
    if judged.determination is not None and judged.determination.value is not None:
        found.append(_value(judged))
    if judged.budget is not None:
        found.append(_uncertainty(judged))
    if judged.decision.guard_band is not None:
        found.extend((_guard(judged), _probability(judged)))
    return found


def _entry(
    figure: str, formula: str, inputs: dict[str, Any], source: str, valid: str, depends_most_on: str
) -> dict[str, Any]:
    return {
        "figure": figure,
        "formula": formula,
        "inputs": inputs,
        "source": source,
        "valid": valid,
        "depends_most_on": depends_most_on,
    }


def _references(judged: JudgedLot) -> dict[str, Any]:
    solutions = judged.check.solutions
    return _entry(
        "expected value of a reference solution",
        "saturated: a_w = sum(A_i t^i) / 100; by molality: a_w = exp(-nu m M_w phi)",
        {s.solution: {"temperature_c": s.temperature_c, "expected": s.expected, "u": s.u_reference} for s in solutions},
        ", ".join(sorted({s.source for s in solutions})),
        "the temperature range of each solution; refused beyond it",
        "the temperature of the solution",
    )


def _checks(judged: JudgedLot) -> dict[str, Any]:
    check = judged.description.check
    return _entry(
        "deviation and E_n of a reference solution",
        "deviation = mean(read - expected); u = sqrt(u_instrument^2 + s^2/n + u_reference^2); E_n = deviation / (2 u)",
        {"u_instrument": check.u_instrument, "limit": check.limit},
        "ISO13528",
        "within = |deviation| <= limit and |E_n| <= 1",
        "the uncertainty of the reference solution",
    )


def _value(judged: JudgedLot) -> dict[str, Any]:
    found = judged.determination
    assert found is not None  # the caller saw to it
    return _entry(
        "value of the lot's portions",
        "range <= f(n) s_r: mean; beyond it with n < 4: more portions; with n >= 4: median",
        {
            "portions": [str(j.run.a_w) for j in judged.runs if j.use == "replicate"],
            "s_r": None if found.s_r is None else str(found.s_r),
            "range": str(found.range),
            "allowed_range": None if found.allowed_range is None else str(found.allowed_range),
        },
        "ISO5725-6",
        "1 to 10 new portions of one lot; re-reads are not replicates",
        "the portions",
    )


def _uncertainty(judged: JudgedLot) -> dict[str, Any]:
    budget = judged.budget
    assert budget is not None  # the caller saw to it
    largest = max(budget.components, key=lambda component: component.u)
    return _entry(
        "standard uncertainty of the value",
        "u^2 = sum(u_i^2); U = 2 u",
        {component.name: component.u for component in budget.components},
        "JCGM100",
        "independent components; coverage factor k = 2",
        largest.name,
    )


def _guard(judged: JudgedLot) -> dict[str, Any]:
    decision = judged.decision
    return _entry(
        "acceptance limits",
        "w = r u; A = limit moved inwards by w",
        {"r": str(decision.specification.guard), "u": decision.u, "w": float(decision.guard_band or 0)},
        "ILACG8",
        "w = U = 2 u leaves a risk of at most 2.5 % at a single limit",
        "the standard uncertainty",
    )


def _probability(judged: JudgedLot) -> dict[str, Any]:
    decision = judged.decision
    limits = {limit.operator: str(limit.value) for limit in decision.specification.limits}
    return _entry(
        "probability of conformity",
        "p = Phi((U - y)/u) - Phi((L - y)/u)",
        {"y": None if decision.value is None else float(decision.value), "u": decision.u, "limits": limits},
        "JCGM106",
        "normal distribution of the value, no prior knowledge of the lot",
        "the distance of the value to the limit",
    )

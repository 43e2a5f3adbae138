"""How each figure of a record was found: formula, inputs, source, valid range, and what it depends on most."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from isohume.bench.assurance.how import how_checked, how_corrected
from isohume.bench.decision.how import how_decided
from isohume.bench.record.judge import JudgedLot
from isohume.bench.record.lot_estimates import how_estimates
from isohume.bench.record.lot_strata import how_strata
from isohume.foundation.quantity.how import How


def how_figures_were_found(judged: JudgedLot) -> list[dict[str, Any]]:
    """One explanation for every computed figure of a judged lot.

    judged: the judged lot [text].
    Returns: objects with figure, formula, inputs, source, valid, depends_most_on [text].
    Source: ISO17025, 7.11.6.
    """
    found = list(how_checked(judged.check, judged.description.check.u_instrument))
    if judged.description.correction is not None:
        found.append(how_corrected(judged.description.correction))
    if judged.determination is not None and judged.determination.value is not None:
        found.append(_value(judged))
    if judged.budget is not None:
        found.append(_uncertainty(judged))
    found.extend(how_decided(judged.decision))
    found.extend(how_strata(judged.strata))
    found.extend(how_estimates(judged.estimates))
    return [how.as_json() for how in found]


def _value(judged: JudgedLot) -> How:
    found = judged.determination
    assert found is not None  # the caller saw to it
    by_range = found.s_r is not None
    return How(
        "value of the lot's portions",
        "range <= f(n) s_r: mean; beyond it with n < 4: more portions; with n >= 4: median"
        if by_range
        else "the portion nearest to a limit or furthest beyond it",
        "ISO5725-6" if by_range else "none: without a known s_r portions cannot be judged against each other",
        "1 to 10 new portions of one lot; re-reads are not replicates" if by_range else "new portions of one lot",
        "the portions",
        {
            "portions": list(_portions(judged)),
            "s_r": None if found.s_r is None else str(found.s_r),
            "range": str(found.range),
            "allowed_range": None if found.allowed_range is None else str(found.allowed_range),
        },
    )


def _portions(judged: JudgedLot) -> Iterator[str]:
    """The portions behind the value: those of the worst position where that decides."""
    if judged.strata is not None and judged.strata.decides == "worst position":
        return (str(portion) for portion in judged.strata.worst.portions)
    return (str(j.a_w) for j in judged.runs if j.use == "replicate")


def _uncertainty(judged: JudgedLot) -> How:
    budget = judged.budget
    assert budget is not None  # the caller saw to it
    largest = max(budget.components, key=lambda component: component.u)
    return How(
        "standard uncertainty of the value",
        "u^2 = sum(u_i^2); U = 2 u",
        "JCGM100",
        "independent components; coverage factor k = 2",
        largest.name,
        {component.name: component.u for component in budget.components},
    )

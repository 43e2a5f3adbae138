"""The strata of a judged lot: from its runs, and back into its decision."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from isohume.bench.decision.budget import LotBudget
from isohume.bench.decision.estimate import Estimates
from isohume.bench.decision.strata import Strata, judge_strata
from isohume.bench.decision.verdict import Decision
from isohume.bench.reading.usable import Judged
from isohume.bench.record.lot_description import LotDescription, Uncertainty
from isohume.foundation.metrology.joint_conformity import probability_all_conform
from isohume.foundation.metrology.replicates import u_of_route
from isohume.foundation.quantity.how import How

NOT_THE_LOT = "It speaks of the positions tested: a position that was not read may be worse."


def strata_of_lot(lot: LotDescription, runs: tuple[Judged, ...], estimates: Estimates | None = None) -> Strata | None:
    """The strata of a lot, where its portions carry two positions or more and there are enough of them.

    lot: the lot description [text].
    runs: every run of the lot, judged [text].
    estimates: the estimates among its portions [1]; what they add to u counts at every position.
    Returns: the Strata [text], or None: the portions are then judged together as before.
    Raises: InputError for more than 10 portions of one position.
    Source: Berger1982; ISO5725-6, 5.2.
    """
    portions = [(j.run.position, j.a_w) for j in runs if j.use == "replicate"]
    early = 0.0 if estimates is None or estimates.u is None else estimates.u
    u_common = math.hypot(u_common_of(lot.uncertainty), early)
    return judge_strata(portions, lot.uncertainty.s_r, u_common, lot.specification.rule)


def u_common_of(known: Uncertainty) -> float:
    """The part of a budget that all portions share.

    known: the budget [text].
    Returns: standard uncertainty [1]; zero where none is known (there is then no verdict either).
    Source: ISO21748, 7.1.
    """
    if known.u_other is None:
        return 0.0
    if known.basis == "collaborative study" and known.s_r is not None:
        return math.sqrt(float(known.u_other) ** 2 - float(known.s_r) ** 2)
    return float(known.u_other)


def rest_on_strata(
    decision: Decision, budget: LotBudget | None, strata: Strata | None, lot: LotDescription
) -> tuple[Decision, Strata | None]:
    """The decision with what its strata add: how surely all positions conform, and that others were not tested.

    decision: the decision on the value that the strata chose [text].
    budget: the budget of that value [text], None where there is none.
    strata: the strata [text], None where the lot has none.
    lot: the lot description [text].
    Returns: decision and strata [text]; both unchanged where the worst position does not decide.
    Source: Berger1982; JCGM106, 7.
    """
    if strata is None or strata.decides != "worst position" or decision.probability_of_conformity is None:
        return decision, strata
    s_r = lot.uncertainty.s_r
    if budget is None or s_r is None or any(one.found.value is None for one in strata.strata):
        return _saying(decision, NOT_THE_LOT, strata), strata
    own = [u_of_route(0.0, float(s_r), one.found.n, one.found.is_median) for one in strata.strata]
    common = math.sqrt(max(0.0, budget.u**2 - own[0] ** 2))
    lower, upper = lot.specification.rule.lower, lot.specification.rule.upper
    together = probability_all_conform(
        [float(one.found.value or 0) for one in strata.strata],
        own,
        common,
        None if lower is None else float(lower.value),
        None if upper is None else float(upper.value),
    )
    # two ways of computing one number may differ in a float's last digits: all together are never surer than the worst
    together = min(together, decision.probability_of_conformity)
    said = f"All {len(strata.strata)} places together conform with a probability of {together:.3g}. {NOT_THE_LOT}"
    return _saying(decision, said, strata), replace(strata, probability_all=together)


def _saying(decision: Decision, said: str, strata: Strata) -> Decision:
    """The decision with one more reason, after those of its value: the last one stays the verdict's own."""
    behind = len(strata.determination.reasons) if strata.determination else 0
    reasons = (*decision.reasons[:behind], said, *decision.reasons[behind:])
    return replace(decision, sampling_included=False, reasons=reasons)


def how_strata(strata: Strata | None) -> list[How]:
    """How the strata were found; none where the lot has none.

    strata: the strata [text].
    Returns: explanations [text].
    Source: ISO17025, 7.11.6.
    """
    if strata is None or strata.between is None:
        return []
    found = strata.between
    inputs: dict[str, Any] = {one.position: [str(x) for x in one.portions] for one in strata.strata}
    return [
        How(
            "between positions against repeatability",
            "F = sum n_i (y_i - y)^2/((k - 1) s_r^2); s_between^2 = (F - 1) s_r^2/n_0",
            "ISO5725-2",
            "normal values; a composite is no position and is left out",
            "the position furthest from the others",
            {**inputs, "s_r": found.s_r, "F": found.f, "F at 5 %": found.f_critical},
        )
    ]

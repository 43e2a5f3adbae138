"""The non-equilibrium estimates among a lot's portions: into its budget, and into its record."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from isohume.bench.decision.budget import LotBudget
from isohume.bench.decision.estimate import Estimates, u_of_estimates
from isohume.bench.decision.specification import Specification
from isohume.bench.reading.runs import ESTIMATE
from isohume.bench.reading.usable import Judged
from isohume.bench.record.lot_description import LotDescription
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.how import How

COMPONENT = "values taken before the criterion"
CAUTION = (
    "A non-equilibrium estimate was taken before the method's criterion was met: it says where the reading may come to "
    "rest, not where it did."
)


def estimates_of(lot: LotDescription, runs: Iterable[Judged]) -> Estimates | None:
    """The estimates among the portions that count; None where every one of them settled or nobody can tell.

    lot: the lot description, whose method names what validates an estimate [text].
    runs: every run of the lot, judged [text].
    Returns: the Estimates [1].
    Source: none.
    """
    counted = [judged.run for judged in runs if judged.use == "replicate"]
    early = [run for run in counted if run.is_estimate]
    if not early:
        return None
    known = [float(run.u_estimate) for run in early if run.u_estimate is not None]
    u = u_of_estimates(known) if len(known) == len(early) else None
    return Estimates(tuple(run.run for run in early), len(counted), u, lot.method.estimates_validated)


def with_estimates(budget: LotBudget, estimates: Estimates | None) -> LotBudget | None:
    """The budget with what the estimates add; None where one has no uncertainty: none is invented for it.

    budget: what settled values would carry [1].
    estimates: the estimates among the portions [1]; None adds nothing.
    Returns: the LotBudget [1].
    Source: JCGM100, 5.2.2.
    """
    if estimates is None:
        return budget
    if estimates.u is None:
        return None
    return budget.plus(COMPONENT, estimates.u, "largest u_estimate; errors in common are not averaged away")


def refused_estimates(estimates: Estimates | None) -> tuple[str, ...]:
    """Why estimates without an uncertainty give no verdict; none where each has its own.

    estimates: the estimates among the portions [1].
    Returns: reasons [text].
    Source: none.
    """
    if estimates is None or estimates.u is not None:
        return ()
    return (f"A {ESTIMATE} without an uncertainty of its own gives no verdict: none is invented for it.",)


def no_zone_left(rule: Specification, u: float, estimates: Estimates | None) -> tuple[str, ...]:
    """Why an estimate is too uncertain to be judged; none where its guard band leaves an acceptance zone.

    rule: limits, kind and guard factor [text].
    u: the standard uncertainty of the value, the estimates' own in it [1].
    estimates: the estimates among the portions [1]; a lot without any is judged as before.
    Returns: reasons [text].
    Source: ILACG8, 4.2.
    """
    if estimates is None:
        return ()
    try:
        rule.guarded(rule.guard * Decimal(repr(u)))
    except InputError as error:
        return (f"The {ESTIMATE} is too uncertain to be judged: {error}.",)
    return ()


def how_estimates(estimates: Estimates | None) -> list[How]:
    """How what the estimates add was found; none where there is none.

    estimates: the estimates among the portions [1].
    Returns: explanations [text].
    Source: ISO17025, 7.11.6.
    """
    if estimates is None or estimates.u is None:
        return []
    return [
        How(
            f"uncertainty of the {ESTIMATE}",
            "u = max(u_i), whatever their number",
            "JCGM100",
            "forecasts of one product miss alike, so their errors are taken as common",
            "the estimate furthest from its end",
            {"runs": list(estimates.runs), "u": estimates.u},
        )
    ]

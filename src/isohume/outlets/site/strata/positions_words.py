"""What the page of positions says: the answer, each place in a word, and what to do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from isohume.bench.decision import Strata, Stratum, position_key
from isohume.bench.decision.strata import LEAST_PORTIONS, MIXTURES
from isohume.bench.record.judge import JudgedLot
from isohume.outlets.site.register.models import SpecificationVersion
from isohume.outlets.site.strata.queries import WhereToTake

if TYPE_CHECKING:
    from isohume.outlets.site.strata.positions_page import Place

SHAPES = {"pass": "pass", "conditional pass": "due", "conditional fail": "fail", "fail": "fail"}


def answer(places: Sequence[Place], strata: Strata | None, judged: JudgedLot | None) -> tuple[str, str]:
    """Is the lot alike everywhere? In one sentence, with its mark."""
    if not places:
        return "No portion of it was read yet.", "wait"
    if len(places) == 1:
        return f"It was read at one place only, {places[0].name}: nothing can be said of others.", "unknown"
    if strata is None or judged is None:
        n = sum(len(place.portions) for place in places)
        why = (
            f"{n} portions cannot tell a place from one bad portion"
            if n < LEAST_PORTIONS
            else "it cannot be judged now"
        )
        return f"{len(places)} places were read; {why}.", "unknown"
    if strata.decides == "pooled":
        return f"No difference is seen between its {len(places)} places: their portions are judged together.", "info"
    worst, verdict = strata.worst, judged.decision.verdict
    if worst.found.value is None:
        return f"More portions are needed at {worst.position}: the portions of that place disagree.", "wait"
    value = "" if worst.found.value is None else f" at {float(worst.found.value):.4f}"
    return f"The worst position decides: {worst.position}{value}, {verdict}.", SHAPES.get(verdict, "hold")


def of_stratum(stratum: Stratum, strata: Strata, spec: SpecificationVersion) -> tuple[str, str]:
    """A judged place in a word and its mark."""
    worst = "worst, " if stratum is strata.worst and strata.decides != "pooled" else ""
    if stratum.found.value is None:
        return "more portions needed", "wait"
    word, shape = of_values((stratum.found.value,), spec)
    return f"{worst}{word}", shape


def of_values(values: Sequence[Decimal], spec: SpecificationVersion) -> tuple[str, str]:
    """The portions of a place against the limits as they stand."""
    beyond = any(inside(value, spec) < 0 for value in values)
    return ("beyond the limit", "fail") if beyond else ("inside", "info")


def inside(value: Decimal | None, spec: SpecificationVersion) -> float:
    """How far a value lies inside the nearer limit; a place without one comes last."""
    if value is None:
        return math.inf
    sides = ((spec.upper, spec.upper_operator, 1), (spec.lower, spec.lower_operator, -1))
    distances = [(sign * (Decimal(limit) - value), operator) for limit, operator, sign in sides if limit]
    return min((float(d) if d or operator in ("<=", ">=") else -1e-12) for d, operator in distances)


def is_mixture(position: str) -> bool:
    """Whether a place is a mixture of places."""
    return position_key(position).split(" ")[0] in MIXTURES


def todo(
    strata: Strata | None, judged: JudgedLot | None, places: Sequence[Place], plan: WhereToTake | None
) -> tuple[str, ...]:
    """What to do now, the most urgent first."""
    said = []
    if strata is not None and judged is not None and strata.decides == "worst position":
        where = strata.worst.position
        if judged.decision.verdict in ("fail", "conditional fail"):
            said.append(f"Hold the lot: {where} is beyond the limit, whatever a mean or a composite says.")
            said.append(
                f"Look for the cause at {where}: air, thickness, filling, load; and for lots made the same way."
            )
        elif judged.decision.verdict == "conditional pass":
            said.append(f"{where} lies within the guard band: it may be inside by chance.")
            said.append("More portions are read by a plan made before, never one after the other until one passes.")
        elif judged.decision.verdict == "more portions needed":
            said.append("Read more portions where the portions of one place disagree.")
        said.append(f"Read the neighbours of {where}: a wetter place may lie between the ones that were read.")
    if len(places) == 1 or (strata is None and len(places) > 1):
        said.append(
            f"Read {LEAST_PORTIONS} portions or more in all, two at each place, the expected worst place first."
        )
    if plan is not None and plan.plan is not None and plan.taken < plan.plan.n:
        said.append(f"The plan asks for {plan.plan.n} portions; {plan.taken} were taken.")
    if plan is not None and plan.next:
        said.append(f"Next place that was not taken yet: {plan.next}.")
    return tuple(said)

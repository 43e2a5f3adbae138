"""Named questions about position maps and sampling plans."""

from __future__ import annotations

import random
from dataclasses import dataclass

from isohume.bench.decision import position_key
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.strata.models import PositionMap, SamplingPlan
from isohume.outlets.site.strata.plan_words import plan_words


@dataclass(frozen=True, slots=True)
class WhereToTake:
    """What intake says: how many portions, of which places, and which of them were taken already."""

    plan: SamplingPlan | None
    map: PositionMap | None
    words: str
    taken: int
    options: tuple[tuple[str, str], ...]
    next: str


def map_of(product: Product) -> PositionMap | None:
    """The map in force: the last version."""
    return product.position_maps.select_related("by").order_by("-version").first()


def plan_of(product: Product) -> SamplingPlan | None:
    """The plan in force: the last version."""
    return product.sampling_plans.select_related("by").order_by("-version").first()


def where_to_take(lot: Lot | None) -> WhereToTake | None:
    """How many portions of a lot to take and where, the expected worst place first; None where nothing is saved."""
    if lot is None:
        return None
    plan, found = plan_of(lot.product), map_of(lot.product)
    if plan is None and found is None:
        return None
    samples = lot.samples.prefetch_related("portions")
    taken = {position_key(sample.position) for sample in samples}
    places = found.places if found else []
    worst = {position_key(place) for place in found.worst} if found else set()
    options = tuple(
        (place, _said(place, position_key(place) in worst, position_key(place) in taken)) for place in places
    )
    following = next((place for place in _in_turn(found, lot) if position_key(place) not in taken), "")
    cups = sum(sample.portions.count() for sample in samples)
    return WhereToTake(plan, found, plan_words(plan) if plan else "", cups, options, following)


def _in_turn(known: PositionMap | None, lot: Lot) -> list[str]:
    """The expected worst places, then the others in an order drawn for this lot: a plan speaks of places at random."""
    if known is None:
        return []
    others = [place for place in known.places if place not in known.worst]
    random.Random(f"map {known.pk} of lot {lot.pk}").shuffle(others)
    return [*known.worst, *others]


def _said(place: str, worst: bool, taken: bool) -> str:
    marks = [word for word, holds in (("expected worst", worst), ("taken", taken)) if holds]
    return f"{place} ({', '.join(marks)})" if marks else place

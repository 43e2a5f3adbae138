"""What a developer does for sampling: the places of a lot, the plan, and a lot read at several of them by the bench."""

from __future__ import annotations

from collections.abc import Iterator

from tests.site.acts import Act, Words

from isohume.outlets.site.register.models import Product

DEVELOPER = "jsorrel"
POINTS = {"aql_percent": "1", "producer_risk_percent": "5", "lq_percent": "10", "consumer_risk_percent": "10"}


def strata_acts(words: Words) -> Iterator[Act]:
    """Two maps and a plan of each kind; the last of them are in force."""
    product = Product.objects.get(name="Soft oat bar").pk
    first = {"rows": "tray 1 to 3", "columns": "", "worst": "", "reason": words("First look at the trays", 300)}
    yield Act("position_map_saved", "product_positions", (product,), DEVELOPER, first)
    more = {"rows": "tray 1 to 6", "columns": "rear, middle, front", "worst": "tray 6 front, tray 6"}
    yield Act(
        "position_map_saved",
        "product_positions",
        (product,),
        DEVELOPER,
        {**more, "reason": words("The fan blows from the rear", 300)},
    )
    for kind in ("attributes", "variables"):
        typed = {"kind": kind, **POINTS, "reason": words("To compare", 300)}
        yield Act("sampling_plan_saved", "product_sampling", (product,), DEVELOPER, typed)
    seeing = {"kind": "seeing a wet fraction", "fraction_percent": "10", "confidence_percent": "95", "lot_size": ""}
    reason = {"reason": words("A wet tenth must be seen", 300)}
    yield Act("sampling_plan_saved", "product_sampling", (product,), DEVELOPER, {**seeing, **reason})

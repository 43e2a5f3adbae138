"""What the page of a product's sampling shows: what was asked, and what is saved."""

from __future__ import annotations

from typing import Any

from isohume.outlets.site.register.models import Product
from isohume.outlets.site.strata import plan_words as words
from isohume.outlets.site.strata.models import KINDS
from isohume.outlets.site.strata.pictures import oc_picture
from isohume.outlets.site.strata.plans import FIELDS, PlanFound
from isohume.outlets.site.strata.queries import map_of, plan_of

SAID = {
    KINDS[0]: "to see a wet fraction at least once",
    KINDS[1]: "by attributes: count the portions beyond the limit",
    KINDS[2]: "by variables: mean and standard deviation, sigma unknown",
}
NONE_FOUND = "The plan cannot be found from these numbers."


def asked_context(asked_kind: str, found: PlanFound | None) -> dict[str, Any]:
    """The answer to what was asked, with its picture and what it does not say."""
    kind = asked_kind if asked_kind in KINDS else KINDS[0]
    return {
        "kind": kind,
        "kinds": list(SAID.items()),
        "fields": [(name, words.NAMES[name]) for name in FIELDS[kind]],
        "found": found,
        "answer": words.asked_words(found.n, found.c, found.k) if found else NONE_FOUND,
        "cautions": words.cautions(kind),
        "picture": oc_picture(found) if found else None,
        "words": words,
    }


def saved_context(product: Product) -> dict[str, Any]:
    """The product's plan and map, and every version of them."""
    return {
        "product": product,
        "plan": plan_of(product),
        "map": map_of(product),
        "plans": product.sampling_plans.select_related("by").order_by("-version"),
        "maps": product.position_maps.select_related("by").order_by("-version"),
    }

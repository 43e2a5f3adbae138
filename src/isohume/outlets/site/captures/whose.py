"""Whose a run is, as a field names it: a scanned or picked cup or bottle."""

from __future__ import annotations

from django.db.models import Q

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.decided import DECIDED
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.bench.queries import portions_of
from isohume.outlets.site.bench.scanned import scanned_portion
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.checks.bottles import bottle_named
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Bottle

MOST = 60


def of_typed(typed: str, site: Site) -> tuple[Portion | None, Bottle | None]:
    """The cup or the bottle that a field names; blank is neither.

    Raises: InputError at the field `of` for what is no cup and no bottle of the plant.
    """
    text = typed.strip()
    if not text:
        return None, None
    portion = scanned_portion(text.lower(), site)
    if portion is not None:
        return portion, None
    try:
        return None, bottle_named(text, "of", site)
    except InputError:
        raise InputError("of", typed, "the code of a cup or a bottle of this plant, such as iso:p:12") from None


def choices_of(run: CapturedRun) -> list[tuple[str, str]]:
    """What it may have been: cups that were there when it began, the youngest first, and the open bottles."""
    there = Q(prepared_at__lte=run.started_at, discarded_reason="")
    cups = portions_of(run.site).filter(there).exclude(sample__lot__state__in=DECIDED).order_by("-prepared_at", "-pk")
    bottles = Bottle.objects.filter(
        solution_lot__site=run.site, solution_lot__withdrawn_reason="", opened_at__lte=run.started_at, discarded_at=None
    ).select_related("solution_lot")
    found = [(cup.scan_code, f"{cup}, {cup.sample.lot.product}") for cup in cups[:MOST]]
    return found + [(one.scan_code, str(one)) for one in bottles.order_by("solution_lot__code", "code")[:MOST]]

"""The list of lots, and the page of one: may this lot go?"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.outlets.site.bench.models import LOT_STATES, Lot
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.ledger.actions import Action
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.lots.lot_page import lot_page
from isohume.outlets.site.lots.queries import lots_of
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE


@shown_to(EVERYONE)
def lots(request: HttpRequest) -> HttpResponse:
    """Fifty lots, by state, product and text."""
    asked = {name: request.GET.get(name, "") for name in ("state", "product", "text")}
    found = lots_of(request.user.site, timezone.now(), **asked, before=read_key(request.GET.get("before", "")))
    context = {
        "rows": found.rows,
        "following": found.following,
        "asked": asked,
        "filtered": any(asked.values()),
        "states": LOT_STATES,
        "products": found.products,
    }
    return page(request, "lots/lots.html", context)


@shown_to(EVERYONE)
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    """May this lot go?"""
    return show_lot(request, pk, None)


@require_POST
@shown_to(EVERYONE)
def lot_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Judge it, or hold it."""
    found = _lot(request, pk)
    tried = attempt(request, lambda f: _action(found, act, f))
    return redirect("lot", pk) if tried.done else show_lot(request, pk, tried)


def show_lot(request: HttpRequest, pk: int, tried: Tried | None) -> HttpResponse:
    """The page of a lot, with what was tried on it."""
    return page(request, "lots/lot.html", {"page": lot_page(_lot(request, pk))}, tried)


def _lot(request: HttpRequest, pk: int) -> Lot:
    known = Lot.objects.select_related("product__method", "specification", "site", "by")
    return get_object_or_404(known, pk=pk, site=request.user.site)


def _action(found: Lot, act: str, f: dict[str, str]) -> Action:
    if act == "judge":
        return JudgeLot(found, f.get("amendment_reason", ""))
    return HoldLot(found, f.get("hold_reason", ""))

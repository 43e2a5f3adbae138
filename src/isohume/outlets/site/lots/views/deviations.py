"""Deviations: what was not as it should be, who answers for it, and how it was closed."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.ledger.actions import Action
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.about import about_of, named_about
from isohume.outlets.site.lots.actions.close_deviation import STATEMENT, CloseDeviation
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.actions.own_deviation import OwnDeviation
from isohume.outlets.site.lots.models import DEVIATION_KINDS, Deviation
from isohume.outlets.site.lots.queries import deviations_of
from isohume.outlets.site.lots.state_of_lot import last_record
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.proof import prove
from isohume.outlets.site.people.roles import EVERYONE

MOST = 200


@shown_to(EVERYONE)
def deviations(request: HttpRequest) -> HttpResponse:
    """The open ones, or all; anybody of the bench opens one."""
    tried, site = None, request.user.site
    if request.method == "POST":
        tried = attempt(
            request,
            lambda f: OpenDeviation(site, f.get("kind", ""), f.get("what", ""), lot=_lot_of(request, f.get("lot", ""))),
        )
        if tried.done:
            return redirect("deviation", tried.result.pk)
    every = request.GET.get("all") == "1"
    context = {"found": deviations_of(site, open_only=not every)[:MOST], "every": every, "kinds": DEVIATION_KINDS}
    return page(request, "lots/deviations.html", context, tried)


@shown_to(EVERYONE)
def deviation(request: HttpRequest, pk: int) -> HttpResponse:
    """One deviation."""
    return _show(request, pk, None)


@sensitive_post_parameters("password")
@require_POST
@shown_to(EVERYONE)
def deviation_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Give it an owner, or close it with a signature."""
    found = _deviation(request, pk)
    tried = attempt(request, lambda f: _action(request, found, act, f))
    return redirect("deviation", pk) if tried.done else _show(request, pk, tried)


def _show(request: HttpRequest, pk: int, tried: Tried | None) -> HttpResponse:
    found = _deviation(request, pk)
    lot = found.lot or (found.run.portion.sample.lot if found.run else None)
    about = about_of(found)
    context = {
        "deviation": found,
        "about": about,
        "about_words": named_about(about),
        "lot": lot,
        "record": last_record(lot) if lot else None,
        "people": [(p.pk, p.printed_name) for p in Person.objects.active(request.user.site).order_by("printed_name")],
        "statement": STATEMENT,
        "trail": trail_of(found.ref),
    }
    return page(request, "lots/deviation.html", context, tried)


def _deviation(request: HttpRequest, pk: int) -> Deviation:
    known = Deviation.objects.select_related(
        "site", "lot", "run__portion__sample__lot", "failed_check__instrument", "owner", "opened_by", "closed_by"
    )
    return get_object_or_404(known, pk=pk, site=request.user.site)


def _action(request: HttpRequest, found: Deviation, act: str, f: dict[str, str]) -> Action:
    if act == "own":
        owner = read_key(f.get("owner", ""))
        people = Person.objects.active(request.user.site)
        return OwnDeviation(found, people.filter(pk=owner).first() if owner is not None else None)
    given = {name: f.get(name, "") for name in ("cause", "action", "disposition")}
    return CloseDeviation(found, **given, proof=prove(request, f.get("password", "")))


def _lot_of(request: HttpRequest, code: str) -> Lot | None:
    """The lot a form names by its code; nothing typed is no lot."""
    if not code.strip():
        return None
    found = Lot.objects.filter(site=request.user.site, key=code.strip().casefold()).first()
    if found is None:
        raise InputError("lot", code, "the code of a lot of this plant, or nothing")
    return found

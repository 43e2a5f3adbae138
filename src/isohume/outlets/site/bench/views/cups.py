"""A sample and its cups, one cup, and the queue of cups that temper."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.outlets.site.bench.actions.cover_portion import CoverPortion
from isohume.outlets.site.bench.actions.discard_portion import DiscardPortion
from isohume.outlets.site.bench.actions.prepare_portion import PreparePortion
from isohume.outlets.site.bench.actions.take_temperature import TakeTemperature
from isohume.outlets.site.bench.limits import clock_limits, clock_of
from isohume.outlets.site.bench.models import COVERS, Portion, Sample
from isohume.outlets.site.bench.queries import portions_of, runs_of, versions_in_force, waiting
from isohume.outlets.site.bench.scope import preparation, scope_words
from isohume.outlets.site.bench.temperatures import Block, temperatures_of, tempering
from isohume.outlets.site.checks.how_shown import how_shown
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.config.words import moment
from isohume.outlets.site.ledger.actions import KeptBefore
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

ACTS = {
    "cover": lambda portion, f: CoverPortion(portion, f.get("cover", ""), f.get("covered_at", "")),
    "temperature": lambda portion, f: TakeTemperature(portion, f.get("temperature_c", ""), f.get("taken_at", "")),
    "discard": lambda portion, f: DiscardPortion(portion, f.get("reason", "")),
}


@shown_to(EVERYONE)
def sample(request: HttpRequest, pk: int) -> HttpResponse:
    """One sample: how it came, its cups; one cup more is prepared here."""
    related = Sample.objects.select_related("lot__product__method", "lot__specification", "lot__site", "by")
    found = get_object_or_404(related, pk=pk, lot__site=request.user.site)
    tried = None
    if request.method == "POST":
        fields = ("code", "cover", "temperature_c", "prepared_at", "reason")
        tried = attempt(request, lambda f: PreparePortion(found, **{name: f.get(name, "") for name in fields}))
        if tried.done:
            return redirect(found)
    shown = {
        "sample": found,
        "lot": found.lot,
        "cups": list(portions_of(request.user.site).filter(sample=found).order_by("pk")),
        "covers": COVERS,
        "guidance": preparation(found.lot.product),
        "scope": scope_words(found.lot.product),
        "trail": trail_of(found.ref),
    }
    return page(request, "bench/sample.html", shown, tried)


@shown_to(EVERYONE)
def portion(request: HttpRequest, pk: int) -> HttpResponse:
    """One cup: its clock, its temperature, when it is ready, its runs."""
    return _portion_page(request, get_object_or_404(portions_of(request.user.site), pk=pk), None, "")


@require_POST
@shown_to(EVERYONE)
def portion_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Cover it otherwise, take its temperature, discard it."""
    found = get_object_or_404(portions_of(request.user.site), pk=pk)
    tried = attempt(request, lambda f: ACTS[act](found, f))
    return redirect(found) if tried.done else _portion_page(request, found, tried, act)


def _portion_page(request: HttpRequest, found: Portion, tried: Tried | None, act: str) -> HttpResponse:
    now, lot = timezone.now(), found.sample.lot
    method = lot.product.method.current
    taken = temperatures_of([found])[found.ref]
    ready = tempering(found, method, Block.of(method, None), taken, now) if method else None
    shown: dict[str, Any] = {
        "portion": found,
        "sample": found.sample,
        "lot": lot,
        "clock": clock_of(found, method, now) if method else None,
        "limit_minutes": int(clock_limits(method).minutes(found.cover)) if method else None,
        "taken_rows": [(moment(at), f"{celsius:g}") for at, celsius in sorted(taken, reverse=True)],
        "tempering": ready,
        "how": how_shown(ready.how) if ready else None,
        "runs": list(runs_of(request.user.site).filter(portion=found).order_by("read_at", "pk")),
        "covers": COVERS,
        "guidance": preparation(lot.product),
        "trail": trail_of(found.ref),
        "act": act,
    }
    return page(request, "bench/portion.html", shown, tried)


@shown_to(EVERYONE)
def tempering_queue(request: HttpRequest) -> HttpResponse:
    """The cups that wait, those that are ready first at the top; a new temperature is typed into its row."""
    site = request.user.site
    portions = waiting(site)
    rows = _tempering_rows(site, portions)
    rows.sort(key=lambda row: (row["tempering"] is None, _left(row["tempering"]), row["portion"].pk))
    return page(request, "bench/tempering.html", {"rows": rows, "tried_row": Tried(), "tried_pk": None})


@require_POST
@shown_to(EVERYONE)
def tempering_row(request: HttpRequest, pk: int) -> HttpResponse:
    """Take one temperature; the answer is the row with its new ready time."""
    found = get_object_or_404(portions_of(request.user.site), pk=pk)
    try:
        tried = attempt(request, lambda f: TakeTemperature(found, f.get("temperature_c", ""), f.get("taken_at", "")))
    except KeptBefore:  # its answer was lost: the row as it is now is the answer
        tried = Tried(done=True)
    if not request.htmx and tried.done:
        return redirect("tempering")
    rows = _tempering_rows(request.user.site, [found] if request.htmx else waiting(request.user.site))
    shown = {"rows": rows, "row": rows[0] if rows else None, "tried_row": tried, "tried_pk": pk}
    template = "bench/tempering_row.html" if request.htmx else "bench/tempering.html"
    return page(request, template, shown, status=200 if tried.done else 422)


def _tempering_rows(site: Any, portions: list[Portion]) -> list[dict[str, Any]]:
    now, versions, taken = timezone.now(), versions_in_force(site), temperatures_of(portions)
    rows = []
    for found in portions:
        method = versions.get(found.sample.lot.product.method_id)
        ready = tempering(found, method, Block.of(method, None), taken[found.ref], now) if method else None
        how = how_shown(ready.how) if ready else None
        rows.append({"portion": found, "tempering": ready, "how": how, "method": method})
    return rows


def _left(ready: Any) -> float:
    if ready is None or ready.minutes_left is None:
        return float("inf")
    return -1.0 if ready.ready else ready.minutes_left

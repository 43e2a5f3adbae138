"""Readings for the line: drier or wetter, and what was read before."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from isohume.outlets.site.bench.actions.read_in_process import ReadInProcess
from isohume.outlets.site.bench.choices import instrument_typed, product_typed
from isohume.outlets.site.bench.models import InProcessReading
from isohume.outlets.site.checks.queries import standings
from isohume.outlets.site.config.page import attempt, page
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Product

FIELDS = ("where", "a_w", "target_low", "target_high", "read_at")
LAST = 20


@shown_to(EVERYONE)
def in_process(request: HttpRequest) -> HttpResponse:
    """Read for the line; the answer is the reading's own page."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(request, lambda f: _read(site, f))
        if tried.done:
            return redirect(tried.result)
    found = standings(site, timezone.now())
    shown = {
        "products": [(str(p.pk), p.name) for p in Product.objects.filter(site=site).order_by("name")],
        "instruments": [(str(one.instrument.pk), f"{one.instrument.name}: {one.word}") for one in found],
        "allowed": [str(one.instrument.pk) for one in found if one.gate.allowed],
        "last": list(_readings(site).order_by("-pk")[:LAST]),
    }
    return page(request, "bench/in_process.html", shown, tried)


def _read(site: Site, typed: dict[str, str]) -> ReadInProcess:
    product = product_typed(site, typed.get("product", ""))
    instrument = instrument_typed(site, typed.get("instrument", ""))
    return ReadInProcess(product, instrument, **{name: typed.get(name, "") for name in FIELDS})


def _readings(site: Site):  # type: ignore[no-untyped-def]  # a queryset of the framework
    return InProcessReading.objects.filter(product__site=site).select_related("product", "instrument", "by")


@shown_to(EVERYONE)
def inprocessreading(request: HttpRequest, pk: int) -> HttpResponse:
    """One reading for the line and its advice."""
    found = get_object_or_404(_readings(request.user.site), pk=pk)
    return page(request, "bench/inprocessreading.html", {"reading": found, "trail": trail_of(found.ref)})

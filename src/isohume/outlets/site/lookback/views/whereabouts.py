"""Where a lot is: retained units, shipments, whom was told."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.config.page import page
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lookback import forms
from isohume.outlets.site.lookback.actions.keep_retain import KeepRetain
from isohume.outlets.site.lookback.actions.record_shipment import RecordShipment
from isohume.outlets.site.lookback.models import Retain, Shipment
from isohume.outlets.site.lookback.whereabouts import whereabouts_of
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import act_page, offered

KINDS = ("retain_kept", "retain_used", "shipment_recorded", "consignee_told")


@shown_to(EVERYONE)
def whereabouts(request: HttpRequest, pk: int) -> HttpResponse:
    """In-house or shipped, and what was put aside."""
    lot = _lot(request, pk)
    context = {
        "lot": lot,
        "where": whereabouts_of([lot])[lot.pk],
        "today": plant_day(timezone.now(), lot.site),
        "keep": offered(request.user, "Put retained units aside", reverse("retain_new", args=[pk]), KeepRetain),
        "ship": offered(request.user, "Record shipment", reverse("shipment_new", args=[pk]), RecordShipment),
        "trail": [line for line in trail_of(lot.ref) if line.kind in KINDS],
    }
    return page(request, "lookback/whereabouts.html", context)


@shown_to(EVERYONE)
def retain_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Put units aside."""
    return act_page(request, forms.keep_retain(_lot(request, pk)))


@shown_to(EVERYONE)
def retain_use(request: HttpRequest, pk: int) -> HttpResponse:
    """Use units up."""
    known = Retain.objects.select_related("lot__site", "lot__product").prefetch_related("uses")
    return act_page(request, forms.use_retain(get_object_or_404(known, pk=pk, lot__site=request.user.site)))


@shown_to(EVERYONE)
def shipment_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what left."""
    return act_page(request, forms.record_shipment(_lot(request, pk)))


@shown_to(EVERYONE)
def shipment_told(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that they were told."""
    known = Shipment.objects.select_related("lot__site", "lot__product")
    return act_page(request, forms.note_told(get_object_or_404(known, pk=pk, lot__site=request.user.site)))


def _lot(request: HttpRequest, pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("site", "product"), pk=pk, site=request.user.site)

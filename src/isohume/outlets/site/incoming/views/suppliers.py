"""Supplier lots: the list, one material with its trend, one lot, and what is done to them."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import attempt, by, page
from isohume.outlets.site.incoming import forms, pages
from isohume.outlets.site.incoming.actions.decide_supplier_lot import DecideSupplierLot
from isohume.outlets.site.incoming.actions.determine_supplier_lot import CHECK, DetermineSupplierLot
from isohume.outlets.site.incoming.actions.receive_supplier_lot import ReceiveSupplierLot
from isohume.outlets.site.incoming.actions.set_material_limits import SetMaterialLimits
from isohume.outlets.site.incoming.deviations import deviations_about
from isohume.outlets.site.incoming.judged import judged, our_moisture
from isohume.outlets.site.incoming.models import SupplierLot, SupplierMaterial
from isohume.outlets.site.incoming.models.suppliers import BASIS_WORDS
from isohume.outlets.site.incoming.queries import lots_of_suppliers, materials_in_force
from isohume.outlets.site.ledger.actions import check
from isohume.outlets.site.lots.companion_numbers import WEIGHTS
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import act_page, offered

MOST, MOST_DISHES = 50, 3
TYPED = ("method", "moisture", "basis", "u_moisture", "a_w", "u_a_w", "temperature_c", "portions", "at")


@shown_to(EVERYONE)
def incoming(request: HttpRequest) -> HttpResponse:
    """The newest fifty lots, and the materials with their limits."""
    site, before = request.user.site, read_key(request.GET.get("before", ""))
    found = lots_of_suppliers(site)
    if before:
        found = found.filter(pk__lt=before)
    listed = list(found.prefetch_related("determinations")[: MOST + 1])
    context = {
        "rows": pages.lines_of(listed[:MOST]),
        "following": listed[MOST - 1].pk if len(listed) > MOST else None,
        "waits": lots_of_suppliers(site).filter(state="waits").count(),
        "materials": [(one, pages.limits_words(one)) for one in materials_in_force(site)],
        "offers": [
            offered(request.user, "Receive a supplier's lot", reverse("supplierlot_new"), ReceiveSupplierLot),
            offered(request.user, "Set limits of a material", reverse("suppliermaterial_new"), SetMaterialLimits),
        ],
    }
    return page(request, "incoming/incoming.html", context)


@shown_to(EVERYONE)
def suppliermaterial_new(request: HttpRequest) -> HttpResponse:
    """Set the limits of a material, of a known one with what is in force."""
    site = request.user.site
    return act_page(request, forms.limits(site, forms.material_typed(site, request.GET.get("of", ""))))


@shown_to(EVERYONE)
def suppliermaterial(request: HttpRequest, pk: int) -> HttpResponse:
    """One material of one supplier: its limits, and how its lots compared with their certificates."""
    found = get_object_or_404(SupplierMaterial.objects.select_related("by"), pk=pk, site=request.user.site)
    versions = list(SupplierMaterial.objects.filter(site=found.site_id, key=found.key).order_by("-version"))
    lots = lots_of_suppliers(request.user.site).filter(material__key=found.key).prefetch_related("determinations")
    lines = pages.lines_of(list(lots[:MOST]))
    again = f"{reverse('suppliermaterial_new')}?of={found.pk}"
    context = {
        "material": found,
        "limits": pages.limits_words(found),
        "versions": [(one, pages.limits_words(one)) for one in versions],
        "rows": lines,
        "trends": pages.trends_of(lines),
        "offers": [offered(request.user, "Set new limits", again, SetMaterialLimits)],
    }
    return page(request, "incoming/suppliermaterial.html", context)


@shown_to(EVERYONE)
def supplierlot_new(request: HttpRequest) -> HttpResponse:
    """A lot with its certificate."""
    return act_page(request, forms.receive(request.user.site, request.GET.get("material", "")))


@shown_to(EVERYONE)
def supplierlot(request: HttpRequest, pk: int) -> HttpResponse:
    """One lot: ours against its certificate and its limits."""
    found = _lot(request, pk)
    determinations = list(found.determinations.select_related("by").order_by("-pk"))
    said = judged(found, determinations[0] if determinations else None)
    answer, shape = pages.answer_of(found, said)
    acts = ("accept", "hold", "reject") if found.state in ("waits", "on hold") else ("hold",)
    decide = [(f"{act[:1].upper()}{act[1:]} lot", reverse("supplierlot_decide", args=[pk, act])) for act in acts]
    context = {
        "lot": found,
        "said": said,
        "answer": answer,
        "shape": shape,
        "certificate": pages.certificate_facts(found),
        "limits": pages.limits_words(found.material),
        "determinations": [(one, judged(found, one).quantities) for one in determinations],
        "hint": pages.typed_hint(found, determinations[0] if determinations else None),
        "unsound": bool(determinations and determinations[0].dishes and our_moisture(determinations[0]) is None),
        "deviations": deviations_about(found),
        "may_determine": found.state in ("waits", "on hold"),
        "offers": [offered(request.user, text, url, DecideSupplierLot) for text, url in decide]
        if found.state != "rejected"
        else [],
    }
    return page(request, "incoming/supplierlot.html", context)


@shown_to(EVERYONE)
def supplierlot_determine(request: HttpRequest, pk: int) -> HttpResponse:
    """What was found on a lot here."""
    found, tried = _lot(request, pk), None
    if request.method == "POST":
        tried = attempt(request, lambda f: _determination(found, f))
        if tried.done:
            return redirect(found)
    verdict = check(DetermineSupplierLot(found), by(request))
    last = found.determinations.order_by("-pk").first()
    context = {
        "lot": found,
        "last": last,
        "verdict": verdict,
        "bases": BASIS_WORDS,
        "dishes": range(1, MOST_DISHES + 1),
        "method": found.material,
    }
    return page(request, "incoming/supplierlot_determine.html", context, tried)


def _determination(lot: SupplierLot, typed: dict[str, str]) -> DetermineSupplierLot:
    dishes = [{name: typed.get(f"{name}_{n}", "") for name in WEIGHTS} for n in range(1, MOST_DISHES + 1)]
    fields: dict[str, Any] = {name: typed.get(name, "") for name in TYPED}
    return DetermineSupplierLot(lot, dishes=dishes, balance={name: typed.get(name, "") for name in CHECK}, **fields)


@shown_to(EVERYONE)
def supplierlot_decide(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Accept, hold or reject."""
    return act_page(request, forms.decide(_lot(request, pk), act))


def _lot(request: HttpRequest, pk: int) -> SupplierLot:
    return get_object_or_404(lots_of_suppliers(request.user.site), pk=pk)

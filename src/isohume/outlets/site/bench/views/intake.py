"""Taking in: a lot, and samples with their cups in one act."""

from __future__ import annotations

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.bench.choices import product_typed
from isohume.outlets.site.bench.models import COVERS, Lot, Sample
from isohume.outlets.site.bench.scope import preparation, scope_words
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.strata.queries import where_to_take

LOT_FIELDS = ("code", "produced_on", "received_at", "description", "customer")
SAMPLE_FIELDS = (
    "position", "component", "sealed", "code", "temperature_c", "received_at", "reason", "portions", "cover",
)  # fmt: skip


@shown_to(EVERYONE)
def lot_new(request: HttpRequest) -> HttpResponse:
    """Receive a lot; the next act is its first sample."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(
            request,
            lambda f: ReceiveLot(
                product_typed(site, f.get("product", "")), **{name: f.get(name, "") for name in LOT_FIELDS}
            ),
        )
        if tried.done:
            return redirect(f"{reverse('sample_new')}?{urlencode({'lot': tried.result.code})}")
    products = list(Product.objects.filter(site=site).order_by("name"))
    options = [(str(product.pk), product.name) for product in products]
    said = {product.name: scope_words(product) for product in products if product.scope_flags}
    return page(request, "bench/lot_new.html", {"options": options, "scope": said}, tried)


@shown_to(EVERYONE)
def sample_new(request: HttpRequest) -> HttpResponse:
    """Receive a sample and prepare its cups; the form stays ready for the next sample of the lot."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(request, lambda f: _receive(site, f))
        if tried.done:
            made = {"lot": tried.result.lot.code, "made": tried.result.pk}
            return redirect(f"{reverse('sample_new')}?{urlencode(made)}")
    code = (request.POST if request.method == "POST" else request.GET).get("lot", "")
    return _sample_page(request, _lot(site, code), code, tried)


def _receive(site: Site, typed: dict[str, str]) -> ReceiveSample:
    lot = _lot(site, typed.get("lot", ""))
    if lot is None:
        raise InputError("lot", typed.get("lot", "") or "nothing", "the code of a lot that was received")
    place = typed.get("position", "").strip() or typed.get("place", "")  # what is named goes before the map's choice
    return ReceiveSample(lot, **{name: typed.get(name, "") for name in SAMPLE_FIELDS} | {"position": place})


def _lot(site: Site, code: str) -> Lot | None:
    related = Lot.objects.filter(site=site, key=code.strip().casefold())
    return related.select_related("product__method", "specification", "site").first()


def _sample_page(request: HttpRequest, lot: Lot | None, code: str, tried: Tried | None) -> HttpResponse:
    made = read_key(request.GET.get("made", ""))
    before = Sample.objects.filter(lot__site=request.user.site, pk=made).first()
    method = lot.product.method.current if lot else None
    shown = {
        "lot": lot,
        "code": code,
        "made": before,
        "made_cups": list(before.portions.order_by("pk")) if before else [],
        "portions": method.portions if method else 2,
        "covers": COVERS,
        "guidance": preparation(lot.product) if lot else None,
        "scope": scope_words(lot.product) if lot else (),
        "where": where_to_take(lot),
        "samples": list(lot.samples.order_by("-pk")[:12]) if lot else [],
    }
    return page(request, "bench/sample_new.html", shown, tried)

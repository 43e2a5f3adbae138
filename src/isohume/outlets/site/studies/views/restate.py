"""A lot restated at another temperature, and the heat of sorption of a product that is kept from a cited source."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.config.page import Tried, page
from isohume.outlets.site.look.screen_line import screen_line
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.register.views.act import ActForm, Ask, act_page, offered
from isohume.outlets.site.studies.actions.keep_heat import NUMBERS, KeepHeat
from isohume.outlets.site.studies.heats import as_heat, last_heat
from isohume.outlets.site.studies.models import KeptHeat
from isohume.outlets.site.studies.restate import NEVER, page_of
from isohume.outlets.site.studies.restate_line import restate_line


@shown_to(EVERYONE)
def lot_restate(request: HttpRequest, pk: int) -> HttpResponse:
    """What the lot would read at another temperature; information only."""
    lots = Lot.objects.select_related("product__site", "specification", "site")
    found = get_object_or_404(lots, pk=pk, site=request.user.site)
    typed = request.GET.dict()
    says = page_of(found, typed)
    product = found.product
    context = {
        "says": says,
        "lot": found,
        "never": NEVER,
        "line": screen_line(restate_line(found, says.found)) if says.found else None,
        "heats": [(one.key, one.words) for one in says.offers],
        "keep": offered(request.user, "Keep a heat from a source", reverse("heat_new", args=[product.pk]), KeepHeat),
        "cited": last_heat(product),
    }
    asked = Tried(errors=says.errors, typed=typed)
    return page(request, "studies/restate.html", context, None, asked=asked, status=200)


@shown_to(EVERYONE)
def heat_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a heat from a cited source for a product."""
    product = get_object_or_404(Product.objects.select_related("site"), pk=pk, site=request.user.site)
    return act_page(request, _form(product, last_heat(product)))


@shown_to(EVERYONE)
def keptheat(request: HttpRequest, pk: int) -> HttpResponse:
    """One version of a cited heat: what it says, where it holds, who kept it and why."""
    heats = KeptHeat.objects.select_related("product", "by")
    found = get_object_or_404(heats, pk=pk, product__site=request.user.site)
    context = {
        "heat": found,
        "valid": as_heat(found).valid,
        "in_force": last_heat(found.product) == found,
        "versions": list(found.product.kept_heats.order_by("-version")),
        "keep": offered(request.user, "Keep another version", reverse("heat_new", args=[found.product_id]), KeepHeat),
    }
    return page(request, "studies/keptheat.html", context)


def _form(product: Product, last: KeptHeat | None) -> ActForm:
    start = {name: getattr(last, name) if last else "" for name in (*NUMBERS, "formula_version", "source")}
    fields = (*NUMBERS, "formula_version", "source", "reason")
    return ActForm(
        question=f"How does the a_w of {product.name} move with temperature?",
        says=f"Keep a heat of sorption for {product.name}",
        button="Keep the heat",
        back=product.get_absolute_url(),
        back_text=product.name,
        asks=[
            Ask("value_kj_mol", "Net heat of sorption q, kJ/mol", start=start["value_kj_mol"], required=True),
            Ask("u_kj_mol", "Its standard uncertainty u, kJ/mol", start=start["u_kj_mol"], required=True),
            Ask("low_c", "Found from", start=start["low_c"], unit="degC", required=True, decimal=True),
            Ask("high_c", "up to", start=start["high_c"], unit="degC", required=True, decimal=True),
            Ask("low_a_w", "Found from a_w", start=start["low_a_w"], mask="a_w"),
            Ask("high_a_w", "up to a_w", start=start["high_a_w"], mask="a_w"),
            Ask("low_moisture", "Found from moisture, dry basis", start=start["low_moisture"], unit="%", decimal=True),
            Ask("high_moisture", "up to moisture, dry basis", start=start["high_moisture"], unit="%", decimal=True),
            Ask("formula_version", "For formula version", start=start["formula_version"], required=True),
            Ask("source", "Where it is printed, with its table or page", start=start["source"], required=True),
            Ask("reason", "Why it speaks of this product", required=True),
        ],
        make=lambda f: KeepHeat(product, **{name: f.get(name, "") for name in fields}),
        after=lambda kept: kept.get_absolute_url(),
        note="A new version. The product's own isotherms at two temperatures say more than any source.",
        advice=(
            "Net: the heat of vaporisation of water (44 kJ/mol) is not in it. Foods mostly lie between 0 and 10.",
            "Give the range of a_w, of moisture, or of both; outside it nothing is restated.",
        ),
    )

"""Two instruments on the same materials: from the plant's own readings, or from a table."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.comparisons import hows, pictures
from isohume.outlets.site.comparisons.actions.fields import instrument_of, small_number
from isohume.outlets.site.comparisons.actions.keep_comparison import KeepComparison
from isohume.outlets.site.comparisons.agreement import Agreement, agreement_of, stated_s_r
from isohume.outlets.site.comparisons.forms import instruments_of
from isohume.outlets.site.comparisons.pairs import HEADINGS, Pair, from_rows, pairs_of_site, pairs_of_table
from isohume.outlets.site.comparisons.queries import comparisons_of
from isohume.outlets.site.comparisons.tables import given_table
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.actions.fields import read_whole
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.register.views.act import offered

DAYS, ALLOWED = "90", "0.005"


@shown_to(EVERYONE)
def instrument_comparisons(request: HttpRequest) -> HttpResponse:
    """Choose two instruments, see what the plant's readings say, keep it with a conclusion."""
    site = request.user.site
    tried = None
    if request.method == "POST":
        tried = attempt(request, lambda f: _keeping(site, f, None))
        if tried.done:
            return redirect(tried.result)
    typed = dict((request.POST or request.GET).items())
    asked = _asked(site, typed)
    context = {
        **_choices(site),
        **asked,
        "kept": comparisons_of(site)[:30],
        "keep": offered(request.user, "Keep this comparison", "", KeepComparison),
        "upload": offered(request.user, "Compare from a file", "", KeepComparison),
    }
    return page(request, "comparisons/instruments.html", context, tried)


def _asked(site: Site, typed: dict[str, str]) -> dict[str, Any]:
    """What the chosen instruments read, or why it cannot be said."""
    start = _start(site)
    chosen = {key: typed.get(key, value) for key, value in start.items()}
    found: dict[str, Any] = {"chosen": chosen, "pairs": [], "found": None, "errors": {}, "said": ""}
    if not (chosen["first"] and chosen["second"]):
        return {**found, "said": "Two instruments in use are needed."}
    try:
        if chosen["first"] == chosen["second"]:
            raise InputError("second", chosen["second"], "another instrument than the first")
        first, second = (instrument_of(site, chosen[key], key) for key in ("first", "second"))
        since = timezone.now() - timedelta(days=read_whole(chosen["days"], "days", 1, 3660, "days"))
        allowed = float(small_number(chosen["allowed"], "allowed"))
        product = Product.objects.filter(site=site, pk=read_key(chosen["product"])).first()
        pairs = pairs_of_site(site, first, second, since, product)
        found |= {"pairs": pairs, "first": first, "second": second}
        found |= shown_agreement(pairs, agreement_of(pairs, allowed, stated_s_r(product)), first.name, second.name)
    except InputError as error:
        if error.field == "pairs":
            return {**found, "said": f"{error.value} in this period; {error.allowed} are needed."}
        found["errors"] = {error.field: f"read {shown(error.value)}; allowed: {error.allowed}"}
    return found


def _start(site: Site) -> dict[str, str]:
    meters = [key for key, _ in instruments_of(site)]
    first, second = (*meters, "", "")[:2]
    return {"first": first, "second": second, "product": "", "days": DAYS, "allowed": ALLOWED}


def _choices(site: Site) -> dict[str, Any]:
    products = [(str(one.pk), one.name) for one in Product.objects.filter(site=site).order_by("name")]
    return {"instruments": instruments_of(site), "products": products}


def shown_agreement(pairs: list[Pair], found: Agreement, first: str, second: str) -> dict[str, Any]:
    """What a page needs to show a comparison."""
    return {
        "found": found,
        "how": hows.of_difference(found),
        "how_line": hows.of_line(found) if found.line else None,
        "picture": pictures.differences_picture(pairs, found, first, second),
        "line_picture": pictures.line_picture(pairs, found, first, second),
        "rows": pictures.pair_rows(pairs),
    }


def _keeping(site: Site, f: dict[str, str], table: Any) -> KeepComparison:
    product = Product.objects.filter(site=site, pk=read_key(f.get("product", ""))).first()
    names = ("days", "allowed", "stand_in", "conclusion", "next_on", "seen")
    return KeepComparison(
        site, f.get("first", ""), f.get("second", ""), product, **{key: f.get(key, "") for key in names}, table=table
    )


@shown_to(EVERYONE)
def comparison_new(request: HttpRequest) -> HttpResponse:
    """Pairs from a table: readings that are not among the plant's lots. Looked at first, then kept."""
    site, tried = request.user.site, Tried()
    looked: dict[str, Any] = {"found": None, "table": None}
    if request.method == "POST" and request.POST.get("act") != "look":
        tried = attempt(request, lambda f: _keeping(site, f, given_table(request, HEADINGS)))
        if tried.done:
            return redirect(tried.result)
    if request.method == "POST" and not tried.reasons:
        looked |= _looked(request, tried)
    offer = offered(request.user, "Compare from a file", "", KeepComparison)
    context = {**_choices(site), "start": _start(site), "offer": offer, **looked}
    return page(
        request, "comparisons/comparison_new.html", context, tried, status=422 if tried.errors or tried.reasons else 200
    )


def _looked(request: HttpRequest, tried: Tried) -> dict[str, Any]:
    """What the table says before anything is kept; what is wrong with it stands at its field."""
    typed = request.POST.dict()
    tried.typed = tried.typed or {name: value for name, value in typed.items() if name != "csrfmiddlewaretoken"}
    try:
        table = given_table(request, HEADINGS)
        first, second = (instrument_of(request.user.site, typed.get(key, ""), key) for key in ("first", "second"))
        pairs = pairs_of_table(table)
        found = agreement_of(pairs, float(small_number(typed.get("allowed", ""), "allowed")), "")
    except InputError as error:
        field = "file" if error.field == "pairs" else error.field
        tried.errors.setdefault(field, f"read {shown(error.value)}; allowed: {error.allowed}")
        return {}
    names = {"first": first, "second": second, "table": table, "pairs": pairs}
    return {**names, **shown_agreement(pairs, found, first.name, second.name)}


@shown_to(EVERYONE)
def instrument_comparison(request: HttpRequest, pk: int) -> HttpResponse:
    """One kept comparison: the conclusion, and the pairs it was made from."""
    kept = get_object_or_404(comparisons_of(request.user.site), pk=pk)
    pairs = from_rows(kept.pairs)
    found = agreement_of(pairs, float(kept.allowed), kept.s_r)
    context = {"kept": kept, "pairs": pairs, **shown_agreement(pairs, found, kept.first.name, kept.second.name)}
    return page(request, "comparisons/comparison.html", context)

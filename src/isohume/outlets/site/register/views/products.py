"""Products: the list, one product with its specification, one specification version, and their changes."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from isohume.bench.reading.scope import judge_scope
from isohume.outlets.site.bench.scope import preparation
from isohume.outlets.site.config.page import page
from isohume.outlets.site.look.screen_line import screen_line
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.actions.add_product import AddProduct
from isohume.outlets.site.register.actions.add_specification import AddSpecification
from isohume.outlets.site.register.forms import products as forms
from isohume.outlets.site.register.models import Product, SpecificationVersion
from isohume.outlets.site.register.pictures import specification_line
from isohume.outlets.site.register.rules import limit_words, rule_facts, rules_that_apply
from isohume.outlets.site.register.views.act import act_page, offered
from isohume.outlets.site.studies.queries import in_force

LAST = 30


@shown_to(EVERYONE)
def products(request: HttpRequest) -> HttpResponse:
    """Every product of the plant with its limits in force."""
    found = Product.objects.filter(site=request.user.site).select_related("method")
    listed = found.prefetch_related("specifications").order_by("name")
    rows = [(one, one.specification, judge_scope(one.scope_flags)) for one in listed]
    add = offered(request.user, "Add product", reverse("product_new"), AddProduct)
    return page(request, "register/products.html", {"rows": rows, "add": add, "limit_words": limit_words})


@shown_to(EVERYONE)
def product_new(request: HttpRequest) -> HttpResponse:
    """The form for a new one."""
    return act_page(request, forms.new(request.user.site, request.POST))


@shown_to(EVERYONE)
def product(request: HttpRequest, pk: int) -> HttpResponse:
    """What it is allowed to be, and why; how it is prepared; what its lots were."""
    found = get_object_or_404(Product.objects.select_related("method", "site"), pk=pk, site=request.user.site)
    spec = found.specification
    records, kept = list(_records(found)), in_force(found)
    new_version = reverse("product_act", args=[found.pk, "specification"])
    context = {
        "product": found,
        "spec": spec,
        "limits": limit_words(spec) if spec else "",
        "line": screen_line(specification_line(spec, records)) if spec else None,
        "facts": rule_facts(spec) if spec else [],
        "rules": rules_that_apply(spec) if spec else [],
        "guidance": preparation(found),
        "scope": judge_scope(found.scope_flags),
        "records": records,
        "versions": found.specifications.order_by("-pk"),
        "isotherms": kept,
        "isotherms_before": [one for one in found.isotherms.defer("content").order_by("-version") if one not in kept],
        "acts": [offered(request.user, "Add specification version", new_version, AddSpecification)],
    }
    return page(request, "register/product.html", context)


def _records(found: Product) -> list[LotRecord]:
    """The newest record of each lot, newest first."""
    newest: dict[int, LotRecord] = {}
    for record in (
        LotRecord.objects.filter(lot__product=found).select_related("lot").order_by("-issued_at", "-pk")[:200]
    ):
        newest.setdefault(record.lot_id, record)
    return list(newest.values())[:LAST]


@shown_to(EVERYONE)
def product_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Another specification version."""
    found = get_object_or_404(Product.objects.select_related("method"), pk=pk, site=request.user.site)
    return act_page(request, forms.new_specification(found))


@shown_to(EVERYONE)
def specificationversion(request: HttpRequest, pk: int) -> HttpResponse:
    """One version: its limits, the rule, which lots were judged by it."""
    spec = get_object_or_404(
        SpecificationVersion.objects.select_related("product__method"), pk=pk, product__site=request.user.site
    )
    context = {
        "spec": spec,
        "in_force": spec == spec.product.specification,
        "limits": limit_words(spec),
        "line": screen_line(specification_line(spec)),
        "facts": rule_facts(spec),
        "rules": rules_that_apply(spec),
        "lots": spec.lots.order_by("-received_at", "-pk")[:LAST],
    }
    return page(request, "register/specificationversion.html", context)

"""How many portions to take, and what a plan lets pass: the calculator, and the plan a product goes by."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.register.views.act import offered
from isohume.outlets.site.strata import plan_words as words
from isohume.outlets.site.strata.actions.save_map import SavePositionMap
from isohume.outlets.site.strata.actions.save_plan import SaveSamplingPlan
from isohume.outlets.site.strata.models import SamplingPlan
from isohume.outlets.site.strata.pictures import oc_picture
from isohume.outlets.site.strata.plans import STARTS, PlanFound, find_plan, with_curve
from isohume.outlets.site.strata.queries import map_of, plan_of
from isohume.outlets.site.strata.sampling_page import asked_context, saved_context


@shown_to(EVERYONE)
def product_sampling(request: HttpRequest, pk: int) -> HttpResponse:
    """What is asked is answered; saving it makes it the product's plan."""
    product = get_object_or_404(Product.objects.select_related("site"), pk=pk, site=request.user.site)
    if request.method == "POST":
        tried = attempt(request, lambda f: SaveSamplingPlan(product, f, f.get("reason", "")))
        if tried.done:
            return redirect(tried.result)
        return _show(request, product, {**STARTS, **tried.typed}, tried)
    asked = {name: request.GET.get(name, start)[:24] for name, start in _starts(product, request).items()}
    return _show(request, product, asked, Tried())


def _starts(product: Product, request: HttpRequest) -> dict[str, str]:
    """The plan in force, or ten in a hundred seen at 95 %."""
    plan = plan_of(product)
    return {**STARTS, **({"kind": plan.kind, **plan.given} if plan and not request.GET.get("kind") else {})}


def _show(request: HttpRequest, product: Product, asked: dict[str, str], tried: Tried) -> HttpResponse:
    found: PlanFound | None = None
    try:
        found = find_plan(asked)
    except InputError as error:
        said = f"read {shown(error.value)}; allowed: {error.allowed}"
        tried = Tried(errors={**tried.errors, error.field: said}, reasons=tried.reasons, typed=asked)
    tried.typed = {**asked, **tried.typed}
    context: dict[str, Any] = {
        **asked_context(asked["kind"], found),
        **saved_context(product),
        "save": offered(request.user, "Save the plan", "", SaveSamplingPlan),
        "add_map": offered(
            request.user, "Save position map", reverse("product_positions", args=[product.pk]), SavePositionMap
        ),
    }
    refused = bool(tried.errors or tried.reasons)
    return page(request, "strata/sampling.html", context, tried, status=422 if refused else 200)


@shown_to(EVERYONE)
def samplingplan(request: HttpRequest, pk: int) -> HttpResponse:
    """One version of a plan, with its operating characteristic."""
    related = SamplingPlan.objects.select_related("product", "by")
    plan = get_object_or_404(related, pk=pk, product__site=request.user.site)
    context = {
        "plan": plan,
        "in_force": plan == plan_of(plan.product),
        "picture": oc_picture(with_curve(plan.kind, plan.given, plan.n, plan.c, plan.k)),
        "rows": words.given_rows(plan.given),
        "says": words.plan_words(plan),
        "cautions": words.cautions(plan.kind),
        "map": map_of(plan.product),
    }
    return page(request, "strata/samplingplan.html", context)

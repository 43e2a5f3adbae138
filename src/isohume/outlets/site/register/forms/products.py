"""Adding a product and a version of its specification."""

from __future__ import annotations

from django.http import QueryDict
from django.urls import reverse

from isohume.bench.reading.preparation_guidance import FORMS
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.actions.add_product import AddProduct
from isohume.outlets.site.register.actions.add_specification import LOWER, ONE_COMPONENT, UPPER, AddSpecification
from isohume.outlets.site.register.models import Method, Product
from isohume.outlets.site.register.models.products import SCOPE_FLAGS
from isohume.outlets.site.register.views.act import ActForm, Ask

SPECIFICATION_FIELDS = (
    "version",
    "temperature_c",
    "kind",
    "source",
    "component",
    "lower",
    "lower_operator",
    "upper",
    "upper_operator",
    "guard",
    "allow_conditional",
    "expected_a_w",
)
REASON = Ask("reason", "What changed, and why", required=True)
KINDS = (("safety", "safety: releases only on pass"), ("quality", "quality"))
SIGN = {">=": "is allowed (≥)", ">": "is not allowed (>)", "<=": "is allowed (≤)", "<": "is not allowed (<)"}
CONDITIONAL = "A conditional pass may be released"


def _method(site: Site, pk: str) -> Method | None:
    return Method.objects.filter(site=site, pk=read_key(pk)).first()


def new(site: Site, posted: QueryDict) -> ActForm:
    """A new product; its scope flags are boxes, so the whole form is asked for them."""
    methods = [(str(method.pk), method.name) for method in Method.objects.filter(site=site).order_by("name")]
    return ActForm(
        question="What is made here?",
        says="Add a product",
        button="Add product",
        back=reverse("products"),
        back_text="Products",
        asks=[
            Ask("called", "Name of the product", required=True),
            Ask("form", "Its form on the bench", "select", options=FORMS, required=True, blank="choose"),
            Ask("method", "Measured by", "select", options=methods, required=True, blank="choose"),
            Ask("components", "Components", hint="Separated by commas: filling, base. Empty for one piece."),
            Ask("scope_flags", "What the method must know", "checkboxes", options=SCOPE_FLAGS),
            Ask("pack_atmosphere", "Atmosphere in the pack", hint="A limit holds for the atmosphere it was set for."),
        ],
        make=lambda f: AddProduct(
            site,
            f.get("called", ""),
            f.get("form", ""),
            _method(site, f.get("method", "")),
            f.get("components", "").split(","),
            posted.getlist("scope_flags"),
            f.get("pack_atmosphere", ""),
        ),
        after=lambda made: made.get_absolute_url(),
        note="" if methods else "There is no method yet: add one first.",
    )


def new_specification(product: Product) -> ActForm:
    """Another version of the specification; it starts as the one in force, its limits too."""
    before = product.specification
    return ActForm(
        question=f"What is {product.name} allowed to be?",
        says="Add a specification version",
        button="Add specification version",
        back=product.get_absolute_url(),
        back_text=product.name,
        asks=[
            Ask("version", "Version", required=True),
            *_limits(product),
            *_rule(product),
            *([REASON] if before else []),
        ],
        make=lambda f: AddSpecification(product, **{key: f.get(key, "") for key in (*SPECIFICATION_FIELDS, "reason")}),
        after=lambda made: made.product.get_absolute_url(),
        note=f"In force now: version {before.version}. Lots that were received before keep it." if before else "",
        advice=(
            ONE_COMPONENT[0].upper() + ONE_COMPONENT[1:] + ".",
            "A limit is stated at the method's temperature: a reading is not restated at another one.",
            "No growth is not safe: water activity is never a kill step.",
        ),
    )


def _limits(product: Product) -> list[Ask]:
    """Component, temperature, and the limits with their operators."""
    start, method = _in_force(product), product.method.current
    temperature = start["temperature_c"] or (method.temperature_c if method else "")
    lower, upper = ([(sign, SIGN[sign]) for sign in side] for side in (LOWER, UPPER))
    return [
        *_component(product, start["component"]),
        Ask("temperature_c", "Stated at", start=temperature, unit="degC", required=True, mask="temperature"),
        Ask("lower", "Lowest a_w", start=start["lower"], mask="a_w"),
        Ask("lower_operator", "The lowest itself", "radios", start["lower_operator"] or ">=", options=lower),
        Ask("upper", "Highest a_w", start=start["upper"], mask="a_w"),
        Ask("upper_operator", "The highest itself", "radios", start["upper_operator"] or "<=", options=upper),
    ]


def _rule(product: Product) -> list[Ask]:
    """How a lot is judged by the limits, and where they come from."""
    start, spec = _in_force(product), product.specification
    conditional = "yes" if spec is not None and spec.allow_conditional else "no"
    only_quality = "Only for a quality limit."
    return [
        Ask("kind", "Kind of limit", "radios", start["kind"] or "safety", options=KINDS),
        Ask("guard", "Guard factor r in w = r u", start=start["guard"], hint="Empty: 2.", decimal=True),
        Ask("allow_conditional", CONDITIONAL, "radios", conditional, options=("no", "yes"), hint=only_quality),
        Ask("expected_a_w", "Where a lot is expected", start=start["expected_a_w"], mask="a_w"),
        Ask("source", "Where the limit comes from", start=start["source"], required=True),
    ]


def _in_force(product: Product) -> dict[str, str]:
    """The fields of the version in force, blank where there is none."""
    spec = product.specification
    return {key: str(getattr(spec, key)) if spec else "" for key in SPECIFICATION_FIELDS}


def _component(product: Product, start: str) -> list[Ask]:
    if not product.components:
        return []
    options = [start] if start else product.components  # the one in force, see AddSpecification
    return [Ask("component", "For the component", "select", start, options=options, required=True, blank="choose")]

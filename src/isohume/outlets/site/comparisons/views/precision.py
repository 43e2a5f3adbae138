"""How well do we measure: repeatability and intermediate precision from the plant's own readings."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.comparisons import hows
from isohume.outlets.site.comparisons.precision_of import FEW_DOF, Precision, precision_of, readings_of
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.actions.fields import read_whole
from isohume.outlets.site.register.models import Product

DAYS = "90"


@shown_to(EVERYONE)
def precision(request: HttpRequest) -> HttpResponse:
    """Choose a product and a period."""
    site = request.user.site
    products = list(Product.objects.filter(site=site).select_related("method").order_by("name"))
    days = request.GET.get("days", DAYS)
    product = _chosen(products, request.GET.get("product", ""))
    context: dict[str, Any] = {"products": [(str(one.pk), one.name) for one in products], "product": product}
    context |= {"days": days, "error": "", "found": None}
    try:
        wanted = read_whole(days, "days", 1, 3660, "days")
        if product:
            context |= _said(site, product, wanted)
    except InputError as error:
        context["error"] = f"read {shown(error.value)}; allowed: {error.allowed}"
    return page(request, "comparisons/precision.html", context)


def _chosen(products: list[Product], typed: str) -> Product | None:
    key = read_key(typed)
    return next((one for one in products if one.pk == key), products[0] if products and not typed else None)


def _said(site: Site, product: Product, days: int) -> dict[str, Any]:
    found = precision_of(readings_of(site, product, timezone.now() - timedelta(days=days)))
    version = product.method.current
    budget = version.budget if version else None
    stated = float(budget.s_r) if budget and budget.s_r else None
    return {
        "found": found,
        "how": hows.of_precision(found),
        "stated": stated,
        "compared": _compared(found, stated),
        "few": found.found is not None and found.found.residual_dof < FEW_DOF,
        "version": version,
    }


def _compared(found: Precision, stated: float | None) -> tuple[str, str]:
    """The stated s_r against the interval of the one found: words and mark."""
    if found.found is None or stated is None:
        return "", "unknown"
    part = found.parts["repeatability"]
    if stated < part.s_low:
        return f"The budget states s_r {stated:.4f}: less than the readings show. Refresh the budget.", "fail"
    if stated > part.s_high:
        return f"The budget states s_r {stated:.4f}: more than the readings show. It is on the safe side.", "info"
    return f"The budget states s_r {stated:.4f}: the readings agree.", "pass"

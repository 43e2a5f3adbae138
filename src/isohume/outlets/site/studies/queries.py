"""Named questions about studies and isotherms."""

from __future__ import annotations

from django.db.models import QuerySet

from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.studies.models import Isotherm, Study


def studies_of(site: Site) -> QuerySet[Study]:
    """Every study of a plant, the newest first."""
    return Study.objects.filter(site=site).select_related("product", "by", "job", "site").order_by("-pk")


def isotherms_of(site: Site) -> QuerySet[Isotherm]:
    """Every kept isotherm of a plant, the newest first."""
    related = "product__site", "study__by", "by"
    return Isotherm.objects.filter(product__site=site).select_related(*related).order_by("-pk")


def in_force(product: Product) -> list[Isotherm]:
    """The isotherms a product goes by: of the formula version last kept, the last of each direction and temperature."""
    last = product.isotherms.order_by("-version").first()
    if last is None:
        return []
    newest: dict[tuple[str, str], Isotherm] = {}
    of_formula = product.isotherms.filter(formula_version=last.formula_version)
    for one in of_formula.select_related("by").defer("content").order_by("-version"):
        newest.setdefault((one.direction, one.temperature_c), one)
    return sorted(newest.values(), key=lambda one: (one.direction, float(one.temperature_c)))

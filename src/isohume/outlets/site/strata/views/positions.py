"""The positions of a lot, and the map of a product's places."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.register.views.act import act_page, offered
from isohume.outlets.site.strata.actions.save_map import SavePositionMap
from isohume.outlets.site.strata.forms import position_map
from isohume.outlets.site.strata.models import PositionMap
from isohume.outlets.site.strata.positions_page import positions_page
from isohume.outlets.site.strata.queries import map_of


@shown_to(EVERYONE)
def lot_positions(request: HttpRequest, pk: int) -> HttpResponse:
    """Is the lot alike everywhere, and if not, which place decides?"""
    known = Lot.objects.select_related("product__method", "specification", "site", "by")
    found = get_object_or_404(known, pk=pk, site=request.user.site)
    add = offered(
        request.user, "Save position map", reverse("product_positions", args=[found.product.pk]), SavePositionMap
    )
    return page(request, "strata/lot_positions.html", {"page": positions_page(found, timezone.now()), "add": add})


@shown_to(EVERYONE)
def product_positions(request: HttpRequest, pk: int) -> HttpResponse:
    """The form for another version of the map."""
    return act_page(request, position_map(_product(request, pk)))


@shown_to(EVERYONE)
def positionmap(request: HttpRequest, pk: int) -> HttpResponse:
    """One version of a map."""
    related = PositionMap.objects.select_related("product", "by")
    found = get_object_or_404(related, pk=pk, product__site=request.user.site)
    return page(request, "strata/positionmap.html", {"map": found, "in_force": found == map_of(found.product)})


def _product(request: HttpRequest, pk: int) -> Product:
    return get_object_or_404(Product.objects.select_related("site"), pk=pk, site=request.user.site)

"""A product's capability."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from isohume.outlets.site.charts import page as says
from isohume.outlets.site.charts.capability import capability_of
from isohume.outlets.site.charts.models import Chart
from isohume.outlets.site.charts.rows import table_rows
from isohume.outlets.site.charts.rules import plant_rule
from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.register.rules import limit_words


@shown_to(EVERYONE)
def product_capability(request: HttpRequest, pk: int) -> HttpResponse:
    """Does the process keep inside its limits by itself? Indices, their interval, whether they may be used."""
    found = get_object_or_404(Product.objects.select_related("site"), pk=pk, site=request.user.site)
    seen = capability_of(found, plant_rule(found.site).as_rules(), timezone.now())
    words, shape = seen.words
    zone = ZoneInfo(found.site.time_zone)
    context = {
        "product": found,
        "of": seen,
        "words": words,
        "shape": shape,
        "limits": limit_words(seen.spec) if seen.spec else "",
        "svg": says.picture(seen.look, zone) if seen.look.control else "",
        "table": table_rows(seen.look, zone),
        "runs": says.runs_of(seen.look),
        "charts": Chart.objects.filter(product=found).select_related("instrument", "product"),
    }
    return page(request, "charts/capability.html", context)

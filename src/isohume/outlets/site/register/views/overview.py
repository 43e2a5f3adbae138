"""What do we own and who may do what, and what is due."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.budgets.queries import budgets_now
from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.due_items import due_rows
from isohume.outlets.site.register.models import Instrument, Method, Product, SolutionLot
from isohume.outlets.site.register.queries import usable_bottles

FIRST_STEPS = (
    ("An instrument", "instrument_new", Instrument),
    ("A reference lot and its bottles", "solution_new", SolutionLot),
    ("A method", "method_new", Method),
    ("A product with its specification", "product_new", Product),
)


@shown_to(EVERYONE)
def register(request: HttpRequest) -> HttpResponse:
    """Counts with links, what is due, and what to add first where nothing is there."""
    site, now = request.user.site, timezone.now()
    instruments = Instrument.objects.filter(site=site)
    lots = SolutionLot.objects.filter(site=site, withdrawn_reason="", expires_on__gte=plant_day(now, site))
    bottles = len(usable_bottles(site, plant_day(now, site)))
    owned = [
        ("Instruments", "instruments", instruments.filter(in_use=True).count(), "in use"),
        (
            "Reference lots",
            "solutions",
            lots.count(),
            f"in date, with {bottles} bottles that may be read",
        ),
        ("Methods", "methods", Method.objects.filter(site=site).count(), "each with its versions and budget"),
        ("Uncertainty budgets", "budgets", len(budgets_now(site)), "each looked at again every quarter"),
        ("Products", "products", Product.objects.filter(site=site).count(), "each with its specification"),
        ("People", "people", Person.objects.active(site).count(), "with an active account"),
    ]
    missing = [(text, reverse(url)) for text, url, model in FIRST_STEPS if not model.objects.filter(site=site).exists()]
    context = {"owned": owned, "due": due_rows(site, now), "missing": missing}
    return page(request, "register/register.html", context)


@shown_to(EVERYONE)
def due(request: HttpRequest) -> HttpResponse:
    """Everything that is overdue or due within 30 days."""
    rows = due_rows(request.user.site, timezone.now())
    return page(request, "register/due.html", {"due": rows, "overdue": [row for row in rows if row.due.overdue]})

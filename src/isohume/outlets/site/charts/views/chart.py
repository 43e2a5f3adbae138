"""The charts of the plant, one chart, and their changes."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from isohume.foundation.metrology.charts_by_point import KINDS
from isohume.outlets.site.charts import forms
from isohume.outlets.site.charts.actions.add_event import AddEvent
from isohume.outlets.site.charts.actions.choose_rules import ChooseRules
from isohume.outlets.site.charts.actions.control_product import EndControlProduct, MarkControlProduct
from isohume.outlets.site.charts.actions.review_charts import ReviewCharts
from isohume.outlets.site.charts.kept_page import chart_page
from isohume.outlets.site.charts.models import Chart
from isohume.outlets.site.charts.page import SPANS
from isohume.outlets.site.charts.queries import charts_of, drift_answer, listed_charts
from isohume.outlets.site.charts.rules import plant_rule, rule_words
from isohume.outlets.site.charts.tasks import untold
from isohume.outlets.site.config.page import page
from isohume.outlets.site.ledger.actions import Action
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import Offered, act_page, offered


@shown_to(EVERYONE)
def charts(request: HttpRequest) -> HttpResponse:
    """Is anything drifting? Every chart of the plant, and which signals."""
    site, person = request.user.site, request.user
    rows = listed_charts(site, timezone.now())
    words, shape, advice = drift_answer(rows)
    rule = plant_rule(site)
    context = {
        "rows": rows,
        "words": words,
        "shape": shape,
        "advice": advice,
        "without_task": len(untold(row.look for row in rows if row.chart.ended_at is None)),
        "rule": rule,
        "rule_words": rule_words(rule),
        "acts": [
            offered(person, "Choose rules of every chart", reverse("chart_rules"), ChooseRules),
            offered(person, "Mark control product", reverse("control_product_new"), MarkControlProduct),
        ],
        "review": offered(person, "Review charts", reverse("chart_review"), ReviewCharts),
    }
    return page(request, "charts/charts.html", context)


@shown_to(EVERYONE)
def chart(request: HttpRequest, pk: int) -> HttpResponse:
    """Is it drifting? The picture, what signals and what to do, its phases, its rules."""
    kind, span = request.GET.get("kind", ""), request.GET.get("span", "")
    kept = chart_page(request.user.site, pk, kind if kind in KINDS else "", span if span in SPANS else "quarter")
    context = {"chart": kept.chart, "kept": kept, "acts": _acts(request, kept.chart)}
    answered = page(request, "charts/chart.html", context)
    answered.content = kept.set_into(answered.content)
    return answered


def _acts(request: HttpRequest, found: Chart) -> list[Offered]:
    listed: list[tuple[str, str, type[Action[Any]]]] = [
        ("Choose rules of this chart", "rules", ChooseRules),
        ("Add dated event", "event", AddEvent),
    ]
    if found.product is not None and found.ended_at is None:
        listed.append(("End control product", "end", EndControlProduct))
    return [
        offered(request.user, text, reverse("chart_act", args=[found.pk, act]), action) for text, act, action in listed
    ]


@shown_to(EVERYONE)
def chart_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Choose rules of it, add a dated event, end it."""
    return act_page(request, forms.of_chart(get_object_or_404(charts_of(request.user.site), pk=pk), act))


@shown_to(EVERYONE)
def chart_rules(request: HttpRequest) -> HttpResponse:
    """What every chart without its own choice goes by."""
    return act_page(request, forms.rules(request.user.site))


@shown_to(EVERYONE)
def control_product_new(request: HttpRequest) -> HttpResponse:
    """Mark a control product."""
    return act_page(request, forms.control_product(request.user.site))


@shown_to(EVERYONE)
def chart_review(request: HttpRequest) -> HttpResponse:
    """The week's review."""
    return act_page(request, forms.review(request.user.site))

"""The forms of charts: what they go by, a dated event, a control product and its end, the week's review."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import reverse

from isohume.foundation.metrology.run_rules import RULES
from isohume.outlets.site.charts.actions.add_event import WHOSE, AddEvent
from isohume.outlets.site.charts.actions.choose_rules import ChooseRules
from isohume.outlets.site.charts.actions.control_product import EndControlProduct, MarkControlProduct
from isohume.outlets.site.charts.actions.review_charts import ReviewCharts
from isohume.outlets.site.charts.models import CUSUM_HS, SIGMAS, Chart, ChartRule
from isohume.outlets.site.charts.rules import KIND_WORDS, plant_rule, rule_of
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument, Product
from isohume.outlets.site.register.views.act import ActForm, Ask

WHY = Ask("reason", "Why", required=True)
RULE_FIELDS = {f"rule_{letter}": rule for letter, rule in zip("abcde", RULES, strict=True)}
YES_NO = (("yes", "yes"), ("no", "no"))


def of_chart(chart: Chart, act: str) -> ActForm:
    """A change of one chart."""
    return {"rules": lambda: rules(chart.site, chart), "event": lambda: _event(chart), "end": lambda: _end(chart)}[
        act
    ]()


def rules(site: Site, chart: Chart | None = None) -> ActForm:
    """What charts go by: every chart of the plant, or one."""
    now = rule_of(chart) if chart else plant_rule(site)
    return ActForm(
        question=f"What is {chart} judged by?" if chart else "What are control charts judged by?",
        says=f"Choose rules of {chart}" if chart else "Choose rules of every chart",
        button="Choose rules",
        back=chart.get_absolute_url() if chart else reverse("charts"),
        back_text=str(chart) if chart else "Charts",
        asks=_rule_asks(now),
        make=lambda f: _choosing(site, chart, f),
        after=lambda _: chart.get_absolute_url() if chart else reverse("charts"),
        note="Earlier choices stay in the trail. Every picture may be looked at as each kind, whatever is judged.",
        advice=(
            "Signals for nothing, on average: beyond 3 sigma alone once in 370 points; with 8 on one side once in 153; "
            "with all but the trend once in 92; with every rule once in about 78.",
            "A weighted moving average (0.2, 2.86) or cumulative sums (h 4.77) find a shift of one sigma in 9 to 10 "
            "points and signal for nothing once in 370.",
        ),
    )


def _rule_asks(now: ChartRule) -> list[Ask]:
    asks = [Ask("kind", "The chart that is judged", "radios", now.kind, options=list(KIND_WORDS.items()))]
    for name, rule in RULE_FIELDS.items():
        asks.append(Ask(name, f"Individuals: {rule}", "radios", "yes" if rule in now.rules else "no", options=YES_NO))
    few = "Of each phase; 20 or more, fewer are provisional."
    of_weight = "Of the weighted moving average; its limits at 2.86 sigma belong to 0.2."
    return [
        *asks,
        Ask("baseline", "Limits from the first", "text", str(now.baseline), few, "points", required=True, decimal=True),
        Ask("weight", "Weight of the newest value", "text", now.weight, of_weight, required=True, decimal=True),
        Ask("h", "Limit h of the cumulative sums", "radios", now.h, options=[(h, f"{h} sigma") for h in CUSUM_HS]),
        Ask("sigma", "Sigma", "radios", now.sigma, options=[(s, s) for s in SIGMAS]),
        WHY,
    ]


def _choosing(site: Site, chart: Chart | None, f: dict[str, str]) -> ChooseRules:
    chosen = [rule for name, rule in RULE_FIELDS.items() if f.get(name) == "yes"]
    names = ("kind", "baseline", "weight", "h", "sigma", "reason")
    return ChooseRules(site, chart, rules=chosen, **{name: f.get(name, "") for name in names})


def _event(chart: Chart) -> ActForm:
    return ActForm(
        question=f"After what is {chart} not comparable?",
        says="Add dated event",
        button="Add dated event",
        back=chart.get_absolute_url(),
        back_text=str(chart),
        asks=[
            Ask("what", "What happened", required=True, hint="In a few words, as the picture shows it: new bench"),
            Ask("at", "When", "moment", hint="Empty is now."),
            Ask("whose", "For", "radios", WHOSE[0], options=[(w, w) for w in WHOSE]),
            WHY,
        ],
        make=lambda f: AddEvent(chart, *(f.get(name, "") for name in ("what", "at", "whose", "reason"))),
        after=lambda _: chart.get_absolute_url(),
        note="A new phase begins there, with its own centre and limits. Nothing that was read changes.",
        advice=(
            "Adjustment, service, taking out of use and a new lot of the reference begin a new phase by themselves.",
            "An event without a physical reason hides a drift: give the reason so that another person can judge it.",
        ),
    )


def _end(chart: Chart) -> ActForm:
    return ActForm(
        question=f"Is {chart.of} no longer a control product?",
        says=f"End {chart}",
        button="End control product",
        back=chart.get_absolute_url(),
        back_text=str(chart),
        asks=[WHY],
        make=lambda f: EndControlProduct(chart, f.get("reason", "")),
        after=lambda made: made.get_absolute_url(),
        note="Its chart stays as it is; later lots are no points of it.",
        danger=True,
    )


def control_product(site: Site) -> ActForm:
    """Mark a control product."""
    products = Product.objects.filter(site=site).order_by("name")
    instruments = Instrument.objects.filter(site=site).order_by("name")
    named = {p: [(str(one.pk), one.name) for one in found] for p, found in (("p", products), ("i", instruments))}
    return ActForm(
        question="Which product shows what salts do not?",
        says="Mark control product",
        button="Mark control product",
        back=reverse("charts"),
        back_text="Charts",
        asks=[
            Ask("product", "Product", "select", options=named["p"], required=True, blank="choose"),
            Ask("instrument", "Instrument", "select", options=named["i"], required=True, blank="choose"),
            Ask("since", "Its lots are points from", "date", hint="Empty is from now on."),
            WHY,
        ],
        make=lambda f: MarkControlProduct(
            site,
            _picked(products, f.get("product", "")),
            _picked(instruments, f.get("instrument", "")),
            f.get("since", ""),
            f.get("reason", ""),
        ),
        after=lambda made: made.get_absolute_url(),
        advice=(
            "Salts can be within 0.01 while a food is off by 0.05: a control product is a food whose value stays.",
            "Keep one batch, dry and sealed, in portions for a year; its own age is the limit of what its chart says.",
        ),
    )


def review(site: Site) -> ActForm:
    """The week's review."""
    return ActForm(
        question="Were the charts looked at?",
        says="Review charts",
        button="Review charts",
        back=reverse("charts"),
        back_text="Charts",
        asks=[Ask("note", "What was seen")],
        make=lambda f: ReviewCharts(site, f.get("note", "")),
        after=lambda _: reverse("charts"),
        note="Opens a task for each signal that has none yet, and writes down that the charts were reviewed.",
    )


def _picked(found: QuerySet, key: str) -> Any:
    return found.filter(pk=int(key)).first() if key.isascii() and key.isdigit() and len(key) < 10 else None

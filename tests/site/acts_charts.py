"""What a manager does with control charts: rules, control products, events, the week's review."""

from __future__ import annotations

from collections.abc import Iterator

from tests.site.acts import Act, Words

from isohume.outlets.site.charts.models import Chart
from isohume.outlets.site.register.models import Instrument, Product

MANAGER = "mfarrow"
RULES = {"rule_a": "yes", "rule_b": "yes", "rule_d": "yes", "baseline": "20", "weight": "0.2", "h": "5"}


def chart_acts(words: Words) -> Iterator[Act]:
    """Each change once; of two control products one is ended."""
    chosen = {**RULES, "kind": "individuals", "sigma": "each phase its own", "reason": words("Too few signals", 300)}
    yield Act("chart_rules_chosen", "chart_rules", (), MANAGER, chosen)
    of_one = Chart.objects.filter(product__isnull=True).earliest("pk").pk
    other = {**chosen, "kind": "ewma", "sigma": "one for all phases"}
    yield Act("chart_rules_chosen", "chart_act", (of_one, "rules"), MANAGER, other)
    for name, instrument in (("Soft oat bar", "OW-1"), ("Oat base", "OW-2")):
        marked = {
            "product": Product.objects.get(name=name).pk,
            "instrument": Instrument.objects.get(name=instrument).pk,
            "since": "2026-01-01",
            "reason": words("One batch kept dry and sealed", 300),
        }
        yield Act("control_product_marked", "control_product_new", (), MANAGER, marked)
    event = {"what": words("New bench", 80), "whose": "this chart", "reason": words("Moved away from the oven", 300)}
    yield Act("chart_event_added", "chart_act", (of_one, "event"), MANAGER, event)
    last = Chart.objects.filter(product__isnull=False).latest("pk").pk
    yield Act(
        "control_product_ended", "chart_act", (last, "end"), MANAGER, {"reason": words("The batch is used up", 300)}
    )
    yield Act("charts_reviewed", "chart_review", (), MANAGER, {"note": words("Week 38", 300)})

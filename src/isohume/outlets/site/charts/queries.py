"""Named questions about charts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection
from django.db.models import QuerySet

from isohume.outlets.site.charts.events import moment_of
from isohume.outlets.site.charts.models import Chart, ChartRule
from isohume.outlets.site.charts.parts import part_of
from isohume.outlets.site.charts.rules import plant_rule
from isohume.outlets.site.charts.series import Look, look
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument, Product

LATELY = timedelta(days=90)
CHART = """
SELECT c.id, c.site_id, c.instrument_id, c.solution, c.molality, c.product_id, c.since, c.ended_at,
  i.name, p.name, s.time_zone
FROM charts_chart c JOIN register_instrument i ON i.id = c.instrument_id JOIN people_site s ON s.id = c.site_id
LEFT JOIN register_product p ON p.id = c.product_id WHERE c.id = %s AND c.site_id = %s
"""


@dataclass(frozen=True, slots=True)
class Listed:
    """A chart in the list: what it says of the last 90 days, and by which choice."""

    look: Look
    rule: ChartRule

    @property
    def chart(self) -> Chart:
        """The chart."""
        return self.look.chart

    @property
    def words(self) -> str:
        """Its state in words."""
        if self.chart.ended_at is not None:
            return "ended"
        if self.look.control is None:
            return "too few points"
        if self.look.now:
            return "signals now"
        if self.look.signals:
            return "signalled before"
        return "no signal" if not self.look.provisional else "no signal, limits provisional"

    @property
    def shape(self) -> str:
        """The mark beside the words."""
        marks = {"signals now": "due", "signalled before": "info", "no signal": "pass", "ended": "void"}
        return marks.get(self.words, "wait")


def charts_of(site: Site) -> QuerySet[Chart]:
    """Every chart of a plant: by instrument, references before control products."""
    related = "instrument__site", "product", "site"
    ordered = ("instrument__name", "product__name", "solution", "molality")
    return Chart.objects.filter(site=site).select_related(*related).order_by(*ordered)


def chart_at(site: Site, pk: int) -> Chart | None:
    """One chart of a plant, with what its page names of instrument, product and plant."""
    with connection.cursor() as cursor:
        cursor.execute(CHART, [pk, site.pk])
        row = cursor.fetchone()
    if row is None:
        return None
    *columns, since, ended_at, instrument, product, zone = row
    names = "id", "site_id", "instrument_id", "solution", "molality", "product_id"
    times = {"since": moment_of(since) if since else None, "ended_at": moment_of(ended_at) if ended_at else None}
    chart = part_of(Chart, **dict(zip(names, columns, strict=True)), **times)
    chart.site = part_of(Site, id=site.pk, time_zone=zone)
    chart.instrument = part_of(Instrument, id=chart.instrument_id, site_id=site.pk, name=instrument)
    chart.product = part_of(Product, id=chart.product_id, site_id=site.pk, name=product) if chart.product_id else None
    return chart


def listed_charts(site: Site, now: datetime) -> list[Listed]:
    """Every chart with what it says."""
    plant, own = plant_rule(site), {}
    for rule in ChartRule.objects.filter(site=site, chart__isnull=False).order_by("pk"):
        own[rule.chart_id] = rule
    found = []
    for chart in charts_of(site):
        rule = own.get(chart.pk, plant)
        found.append(Listed(look(chart, rule.as_rules(), now, LATELY), rule))
    return found


def drift_answer(found: list[Listed]) -> tuple[str, str, list[str]]:
    """Is anything drifting: the answer, its mark, and what to look at."""
    now = [one for one in found if one.words == "signals now"]
    if not found:
        return "No chart yet: a chart begins with the first check of an instrument.", "unknown", []
    if not now:
        return f"No chart of {len(found)} signals at its last point.", "pass", []
    names = ", ".join(str(one.chart) for one in now)
    return f"{names} signal{'s' if len(now) == 1 else ''} now.", "due", _advice(found, now)


def _advice(found: list[Listed], now: list[Listed]) -> list[str]:
    """An instrument all of whose references move is looked at; where one of several moves, its bottle is."""
    said = []
    for instrument in dict.fromkeys(one.chart.instrument for one in now):
        every = [one for one in found if one.chart.instrument == instrument and one.chart.product_id is None]
        moved = [one for one in now if one.chart.instrument == instrument and one.chart.product_id is None]
        if len(every) > 1 and len(moved) == 1:
            said.append(f"{instrument.name}: only {moved[0].chart.of} signals; look at its bottle first.")
        elif len(moved) > 1:
            said.append(f"{instrument.name}: {len(moved)} of {len(every)} references signal; look at the instrument.")
    return said

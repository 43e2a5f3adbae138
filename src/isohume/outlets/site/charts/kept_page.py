"""What everybody sees of a chart's page, kept in the process until the ledger says something that may change it.

No change is made without a ledger line, so a page kept at a line is true until the next line that speaks of something
a chart shows. Time changes it too: a point leaves the span, a dated event comes, another day begins.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection
from django.http import Http404
from django.template.loader import render_to_string
from django.utils import timezone
from markupsafe import Markup

from isohume.foundation.metrology.run_rules import RULES
from isohume.outlets.site.charts import page as says
from isohume.outlets.site.charts.drawing import LETTERS
from isohume.outlets.site.charts.events import Event
from isohume.outlets.site.charts.from_history import behind, past_points
from isohume.outlets.site.charts.kept_points import checks_kept
from isohume.outlets.site.charts.models import Chart, ChartRule
from isohume.outlets.site.charts.queries import chart_at
from isohume.outlets.site.charts.rows import Rows, rows_of
from isohume.outlets.site.charts.rules import KIND_WORDS, how, rule_of, rule_words
from isohume.outlets.site.charts.seen import SeenPoints
from isohume.outlets.site.charts.series import Look, Points, judged, points_of
from isohume.outlets.site.charts.told import Told, told_of
from isohume.outlets.site.people.models import Site

MOST = 64
BENCH_WORK = (
    "signed_in", "signed_out", "locked", "unlocked_screen", "sign_in_failed", "locked_out", "record", "signature",
    "file", "temperature_taken", "in_process_read", "run_keyed_second", "run_recorded", "portion_discarded",
    "run_voided", "run_corrected", "lot_received", "hand_over_written", "portion_covered", "sample_received",
    "runs_imported", "labels_printed", "portion_prepared", "moisture_recorded", "ph_recorded", "records_signed",
    "lot_judged", "lot_held", "certificate_asked",
)  # fmt: skip
"""Ledger lines of the day's work that no chart of a reference shows. A control product's chart heeds every line."""
LINES = f"""
SELECT (SELECT max(seq) FROM ledger), (
  SELECT seq FROM ledger WHERE kind NOT IN ({", ".join(f"'{kind}'" for kind in BENCH_WORK)}) ORDER BY seq DESC LIMIT 1
)
"""
PICTURE, ROWS = Markup("<!-- picture -->"), Markup("<!-- rows -->")
_KEPT: OrderedDict[Hashable, KeptPage] = OrderedDict()


@dataclass(frozen=True, slots=True)
class Given:
    """Everything a chart's page is made from, as it was read: two pages made from the same say the same.

    names: of chart, instrument, product and plant, and the chart's own times. rule: its columns and who chose it.
    """

    names: tuple[Any, ...]
    rule: tuple[Any, ...]
    kind: str
    points: SeenPoints
    past: SeenPoints
    events: tuple[Event, ...]
    told: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class KeptPage:
    """The parts of a page as text, what they are made from, the ledger line they are true at, and until when.

    Picture and rows are kept as bytes and set into the answer when it is written: templates copy what they are given
    from block to block, and these are nearly all of the page.
    """

    chart: Chart
    line: int | None
    until: datetime
    given: Given
    answer: Markup
    task: Markup
    rules: Markup
    picture: bytes
    rows: bytes
    table: Rows

    def set_into(self, page: bytes) -> bytes:
        """The page with picture and rows at their places; words that people typed are escaped and name no place."""
        return page.replace(PICTURE.encode(), self.picture, 1).replace(ROWS.encode(), self.rows, 1)


def chart_page(site: Site, pk: int, kind: str, span: str) -> KeptPage:
    """A chart's page: the one that was kept, or made now; a chart of another plant is not found.

    kind: one of the charts' kinds, "" for the one its rule says. span: one of SPANS.
    """
    now = timezone.now()
    every, heeded = _lines()
    key = (str(connection.settings_dict["NAME"]), site.pk, pk, kind, span)
    kept = _KEPT.pop(key, None)
    if kept is None or kept.line != (every if kept.chart.product_id else heeded) or now >= kept.until:
        chart = chart_at(site, pk)
        if chart is None:
            raise Http404
        kept = _made(chart, every if chart.product_id else heeded, now, kind, span, kept)
    _KEPT[key] = kept
    while len(_KEPT) > MOST:
        _KEPT.popitem(last=False)
    return kept


def _lines() -> tuple[int | None, int | None]:
    """The ledger's last line, and the last one that a reference's chart heeds."""
    with connection.cursor() as cursor:
        cursor.execute(LINES)
        every, heeded = cursor.fetchone()
    return every, heeded


def _made(chart: Chart, line: int | None, now: datetime, kind: str, span: str, before: KeptPage | None) -> KeptPage:
    """The page made anew; what was made before from the same is what would be made now, and is not made again."""
    rule = rule_of(chart)
    read = points_of(chart, now, says.SPANS[span], checks_kept)
    past = past_points(chart, read.points)
    told = told_of(chart)
    given = _given(read, rule, kind or rule.kind, past, told)
    if before is not None and before.given == given and now < before.until:
        return replace(before, chart=chart, line=line)
    seen = behind(past, judged(read, rule.as_rules(kind or rule.kind)))
    zone = ZoneInfo(chart.site.time_zone)
    context = _context(seen, rule, span, told)
    answer, task, rules = (
        Markup(render_to_string(f"charts/chart_{name}.html", context)) for name in ("answer", "task", "rules")
    )
    picture = says.picture(seen, zone).encode() if seen.control else b""
    table = rows_of(seen, zone, before.table if before else None)
    return KeptPage(chart, line, _until(seen, now), given, answer, task, rules, picture, table.text(), table)


def _given(read: Points, rule: ChartRule, kind: str, past: SeenPoints, told: tuple[Told, ...]) -> Given:
    chart = read.chart
    names = chart.solution, chart.molality, chart.since, chart.ended_at, chart.site.time_zone, str(chart), chart.of
    goes_by = *(getattr(rule, field.attname) for field in rule._meta.concrete_fields), rule.pk and rule.by.printed_name
    return Given(names, goes_by, kind, read.points, past, read.events, told)


def _context(seen: Look, rule: ChartRule, span: str, told: tuple[Told, ...]) -> dict[str, Any]:
    words, shape = says.answer(seen)
    return {
        "chart": seen.chart,
        "look": seen,
        "words": words,
        "shape": shape,
        "kind": seen.rules.kind,
        "span": span,
        "kinds": KIND_WORDS,
        "spans": tuple(says.SPANS),
        "svg": PICTURE if seen.control else "",
        "table": ROWS,
        "runs": says.runs_of(seen, told),
        "phases": says.phases_of(seen),
        "rule": rule,
        "rule_words": rule_words(rule),
        "letters": [(LETTERS[name], name) for name in RULES if name in rule.rules],
        "how": how(seen.rules),
    }


def _until(seen: Look, now: datetime) -> datetime:
    """When time alone makes it another page: another day, a point that leaves the span, an event of a later hour."""
    zone = ZoneInfo(seen.chart.site.time_zone)
    span = seen.span[1] - seen.span[0]
    ends = [datetime.combine(now.astimezone(zone).date() + timedelta(days=1), time.min, zone)]
    first = bisect_left(seen.points.at_s, seen.start_s)
    if first < len(seen.points):
        ends.append(datetime.fromtimestamp(seen.points.at_s[first] + 1, UTC) + span)
    ends += [event.at for event in seen.events if event.at > now]
    return min(ends)

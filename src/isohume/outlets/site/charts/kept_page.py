"""What everybody sees of a chart's page, kept in the process until the ledger says something that may change it.

No change is made without a ledger line, so a page kept at a line is true until the next line that speaks of something
a chart shows. Time changes it too: a point leaves the span, a dated event comes, another day begins.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.utils import timezone
from markupsafe import Markup

from isohume.foundation.metrology.run_rules import RULES
from isohume.outlets.site.charts import page as says
from isohume.outlets.site.charts.drawing import LETTERS
from isohume.outlets.site.charts.from_history import with_history
from isohume.outlets.site.charts.models import Chart, ChartRule
from isohume.outlets.site.charts.queries import charts_of
from isohume.outlets.site.charts.rules import KIND_WORDS, how, rule_of, rule_words
from isohume.outlets.site.charts.series import Look, look
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
_KEPT: OrderedDict[Hashable, KeptPage] = OrderedDict()


@dataclass(frozen=True, slots=True)
class KeptPage:
    """The parts of a page as text, the ledger line they are true at, and until when they are."""

    chart: Chart
    line: int | None
    until: datetime
    answer: Markup
    task: Markup
    rules: Markup


def chart_page(site: Site, pk: int, kind: str, span: str) -> KeptPage:
    """A chart's page: the one that was kept, or made now; a chart of another plant is not found.

    kind: one of the charts' kinds, "" for the one its rule says. span: one of SPANS.
    """
    now = timezone.now()
    every, heeded = _lines()
    key = (str(connection.settings_dict["NAME"]), site.pk, pk, kind, span)
    kept = _KEPT.pop(key, None)
    if kept is None or kept.line != (every if kept.chart.product_id else heeded) or now >= kept.until:
        chart = get_object_or_404(charts_of(site), pk=pk)
        kept = _made(chart, every if chart.product_id else heeded, now, kind, span)
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


def _made(chart: Chart, line: int | None, now: datetime, kind: str, span: str) -> KeptPage:
    rule = rule_of(chart)
    seen = with_history(look(chart, rule.as_rules(kind or rule.kind), now, says.SPANS[span]))
    context = _context(seen, rule, span)
    parts = (Markup(render_to_string(f"charts/chart_{name}.html", context)) for name in ("answer", "task", "rules"))
    return KeptPage(chart, line, _until(seen, now), *parts)


def _context(seen: Look, rule: ChartRule, span: str) -> dict[str, Any]:
    zone = ZoneInfo(seen.chart.site.time_zone)
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
        "svg": says.picture(seen, zone) if seen.control else "",
        "table": says.table_rows(seen, zone),
        "runs": says.runs_of(seen),
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
    first = next((point.at_s for point in seen.points if point.at_s >= seen.start_s), None)
    if first is not None:
        ends.append(datetime.fromtimestamp(first + 1, UTC) + span)
    ends += [event.at for event in seen.events if event.at > now]
    return min(ends)

"""A chart's page made point by point and question by question, nothing kept: what the quick way is held against."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.template.loader import render_to_string
from django.urls import reverse
from markupsafe import Markup
from tests.outlets.site.charts.plain_drawing import draw_control_chart

from isohume.foundation.metrology.charts_by_point import ChartRules, control_chart
from isohume.foundation.metrology.run_rules import RULES
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.adjustments.queries import adjustment_events
from isohume.outlets.site.charts import page as says
from isohume.outlets.site.charts.drawing import LETTERS
from isohume.outlets.site.charts.events import Event
from isohume.outlets.site.charts.from_history import with_history
from isohume.outlets.site.charts.models import Chart, ChartEvent, ChartPoint, ChartRule, ChartSignal
from isohume.outlets.site.charts.page import MOST_RUNS, SPANS, RunOfSignals
from isohume.outlets.site.charts.queries import charts_of
from isohume.outlets.site.charts.rules import KIND_WORDS, how, plant_rule, rule_words, what_to_do
from isohume.outlets.site.charts.seen import Seen, SeenPoints
from isohume.outlets.site.charts.series import Look
from isohume.outlets.site.incoming.models.history import UNVERIFIED
from isohume.outlets.site.look.screen_line import ACROSS, ACROSS_SMALL, FAMILY, FONT_SIZE
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument


def plain_page(site: Site, pk: int, kind: str, span: str, now: datetime) -> tuple[str, str, str]:
    """Answer with picture and table, task, rules."""
    chart = charts_of(site).get(pk=pk)
    rule = rule_of(chart)
    seen = with_history(look(chart, rule.as_rules(kind or rule.kind), now, SPANS[span]))
    zone = ZoneInfo(chart.site.time_zone)
    words, shape = says.answer(seen)
    context = {
        "chart": chart,
        "look": seen,
        "words": words,
        "shape": shape,
        "kind": seen.rules.kind,
        "span": span,
        "kinds": KIND_WORDS,
        "spans": tuple(SPANS),
        "svg": picture(seen, zone) if seen.control else "",
        "table": table_rows(seen, zone),
        "runs": runs_of(seen),
        "phases": says.phases_of(seen),
        "rule": rule,
        "rule_words": rule_words(rule),
        "letters": [(LETTERS[name], name) for name in RULES if name in rule.rules],
        "how": how(seen.rules),
    }
    answer, task, rules = (
        render_to_string(f"charts/chart_{name}.html", context) for name in ("answer", "task", "rules")
    )
    return answer, task, rules


def rule_of(chart: Chart) -> ChartRule:
    own = ChartRule.objects.filter(chart=chart).select_related("by").order_by("-pk").first()
    return own or plant_rule(chart.site)


def look(chart: Chart, rules: ChartRules, until: datetime, span: timedelta) -> Look:
    """Look at a chart over a span; limits come from the beginning of each phase, also where that lies before it."""
    start = until - span
    every = events_of(chart)
    events = [event for event in every if event.at <= until]
    before = [event.at for event in events if event.at <= start]
    points = _checks(chart, before[-1] if before else None, until)
    counted = [point for point in points if point.counted]
    starts = _starts(counted, events)
    control, why = _control(counted, rules, [place for place, _ in starts])
    shown, those = SeenPoints.of_rows(points), SeenPoints.of_rows(counted)
    return Look(chart, rules, shown, those, control, why, tuple(starts), (start, until), tuple(every))


def _control(counted: Sequence[Seen], rules: ChartRules, places: Sequence[int]):
    if len(counted) < 2:
        return None, f"{len(counted)} points that count; a chart needs two, and 8 before it says anything."
    try:
        return control_chart([point.value for point in counted], rules, breaks=places), ""
    except InputError as error:
        return None, f"No limits: {error.value}; needed: {error.allowed}."


def _checks(chart: Chart, begin: datetime | None, until: datetime) -> list[Seen]:
    ends = int(begin.timestamp()) if begin else 0, int(until.timestamp())
    rows = ChartPoint.objects.filter(chart=chart, at_s__range=ends).select_related("of_check").order_by("at_s", "pk")
    found = []
    for row in rows:
        void = row.of_check.voided_at is not None
        found.append(Seen(row.at_s, row.value, row.of_check_id, row.within and not void, void))
    return found


def _starts(counted: Sequence[Seen], events: Sequence[Event]) -> list[tuple[int, str]]:
    """Where a new phase begins and why; a phase that would have fewer than two points joins the next one."""
    found: list[tuple[int, list[str]]] = []
    for event in events:
        place = bisect_left(counted, event.at.timestamp(), key=lambda point: point.at_s)
        if place in (0, len(counted)):
            continue
        if found and place - found[-1][0] < 2:
            found[-1][1].append(event.what)
        elif place >= 2 and len(counted) - place >= 2:
            found.append((place, [event.what]))
    return [(place, ", ".join(dict.fromkeys(what))) for place, what in found]


def events_of(chart: Chart) -> list[Event]:
    """Everything that begins a new phase of a chart, in time order."""
    found = [*_adjusted(chart.instrument), *_in_use(chart.instrument), *_typed(chart), *_new_lots(chart)]
    return sorted(found, key=lambda event: event.at)


def _adjusted(instrument: Instrument) -> list[Event]:
    return [Event(at, kind) for at, kind in adjustment_events(instrument).values_list("at", "kind")]


def _in_use(instrument: Instrument) -> list[Event]:
    return [Event(at, what) for at, what in instrument.in_use_changes.values_list("at", "what")]


def _typed(chart: Chart) -> list[Event]:
    whose = Q(chart=chart) | Q(chart__isnull=True, instrument=chart.instrument)
    return [Event(at, what) for at, what in ChartEvent.objects.filter(whose).values_list("at", "what")]


def _new_lots(chart: Chart) -> list[Event]:
    rows = ChartPoint.objects.filter(chart=chart, new_lot=True).values_list("at_s", "lot")
    return [Event(datetime.fromtimestamp(at_s, UTC), f"new lot {lot}") for at_s, lot in rows]


def runs_of(look: Look) -> list[RunOfSignals]:
    """The signals in runs, the newest first, with the task that speaks of each."""
    open_runs: dict[tuple[str, int], RunOfSignals] = {}
    found: list[RunOfSignals] = []
    for signal in look.signals:
        run = open_runs.get((signal.rule, signal.side))
        if run is not None and signal.first <= run.last + 1:
            run.last, run.until = signal.index, look.counted[signal.index].at
            continue
        begun, until = look.counted[signal.first].at, look.counted[signal.index].at
        to_do = what_to_do(look.chart, signal.rule)
        run = RunOfSignals(signal.rule, signal.side, begun, signal.first, signal.index, until, to_do)
        open_runs[(signal.rule, signal.side)] = run
        found.append(run)
    newest = sorted(found, key=lambda run: (run.last, run.first), reverse=True)[:MOST_RUNS]
    told = list(ChartSignal.objects.filter(chart=look.chart).select_related("deviation")) if look.chart.pk else []
    for run in newest:
        same = (t for t in told if t.side == run.side and t.first_at <= run.until and t.last_at >= run.begun)
        run.task = next((t.deviation for t in same), None)
    return newest


def picture(look: Look, zone: ZoneInfo) -> Markup:
    """The drawing for a wide and a small page."""
    title = f"Control chart of {look.chart}" if look.chart.instrument_id else f"Lots of {look.chart.of}"
    drawn = [
        draw_control_chart(look, zone, title, width, FONT_SIZE, FAMILY).replace("<svg ", f'<svg class="{name}" ', 1)
        for name, width in (("across", ACROSS), ("across-small", ACROSS_SMALL))
    ]
    return Markup("".join(drawn))


def table_rows(look: Look, zone: ZoneInfo) -> Markup:
    """The picture's points as rows of a table, the newest first; made as text, for a year has many."""
    control = look.control
    if control is None:
        return Markup("")
    said: dict[int, list[str]] = {}
    for signal in look.signals:
        said.setdefault(signal.index, []).append(signal.rule)
    routes = [
        reverse(name, args=[0]).replace("/0/", "/%d/")
        for name in ("lot" if look.chart.product_id else "check", "historicfile")
    ]
    form = "%.4f" if look.chart.product_id else "%+.5f"
    own, past = (
        f'<tr><th scope="row"><a href="{route}">%s</a></th><td class="number">{form}</td>'
        f'<td class="number">%s</td><td class="number">%s</td><td>%s</td></tr>'
        for route in routes
    )
    start, counted, rows = look.start_s, -1, []
    for point in look.points:
        counted += point.counted
        if point.at_s < start:
            continue
        when = datetime.fromtimestamp(point.at_s, zone).isoformat(" ", "minutes")[:16]
        drawn = limits = ""
        if point.counted:
            drawn, limits = form % control.statistic[counted], f"{form} to {form}" % control.limits[counted]
            words = UNVERIFIED if point.historic else ", ".join(said[counted]) if counted in said else ""
        else:
            words = "void" if point.void else "failed, not counted"
        row, when = (past, when[:10]) if point.historic else (own, when)
        rows.append(row % (point.of, when, point.value, drawn, limits, words))
    return Markup("".join(reversed(rows)).replace(">-", ">\N{MINUS SIGN}").replace(" to -", " to \N{MINUS SIGN}"))

"""A chart looked at: its points since the phase in which the span begins, its phases, and what signals."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from statistics import fmean
from typing import NamedTuple

from django.db import connection

from isohume.foundation.metrology.charts_by_point import FEWEST_FOR_LIMITS, ChartRules, ControlChart, control_chart
from isohume.foundation.metrology.run_rules import Signal
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import AT_REST, Run
from isohume.outlets.site.charts.events import Event, events_of
from isohume.outlets.site.charts.models import Chart

YEAR = timedelta(days=365)
CHECKS = """
SELECT p.at_s, p.value, p.of_check_id, p.within, c.voided_at IS NOT NULL
FROM charts_chartpoint p JOIN checks_check c ON c.id = p.of_check_id
WHERE p.chart_id = %s AND p.at_s BETWEEN %s AND %s ORDER BY p.at_s, p.id
"""
FEWEST = 8
"""A phase of fewer points says nothing yet: its limits hang on single values (no source)."""


class Seen(NamedTuple):
    """One point: a reference in a check, or a lot of the control product; `of` leads to it, `at_s` is when.

    historic: of a past check brought from a spreadsheet; `of` is then that file.
    """

    at_s: int
    value: float
    of: int
    counted: bool = True
    void: bool = False
    historic: bool = False

    @property
    def at(self) -> datetime:
        """When, as a moment."""
        return datetime.fromtimestamp(self.at_s, UTC)


@dataclass(frozen=True, slots=True)
class Look:
    """What a chart says. `counted` are the points of `control`, in its order; `starts` where phases begin, and why.

    events: every one known, those of a later hour too. historic: how many first points of `counted` are historical,
    unverified; of_history is said of them. seeded: the first phase of own points is held against limits from them.
    """

    chart: Chart
    rules: ChartRules
    points: tuple[Seen, ...]
    counted: tuple[Seen, ...]
    control: ControlChart | None
    why_none: str
    starts: tuple[tuple[int, str], ...]
    span: tuple[datetime, datetime]
    events: tuple[Event, ...] = ()
    historic: int = 0
    seeded: bool = False
    of_history: str = ""

    @property
    def signals(self) -> list[Signal]:
        """Signals of phases that are long enough, in the span."""
        if self.control is None:
            return []
        seeded = self.historic if self.seeded else -1
        known = [p for p in self.control.phases if p.end - p.start >= FEWEST or p.start == seeded]
        within = [s for p in known for s in self.control.signals if p.start <= s.index < p.end]
        return [s for s in within if self.counted[s.index].at_s >= self.start_s]

    @property
    def start_s(self) -> int:
        """Where the span begins, as points count time."""
        return int(self.span[0].timestamp())

    @property
    def now(self) -> list[Signal]:
        """Signals at the last point."""
        return [s for s in self.signals if s.index == len(self.counted) - 1]

    @property
    def provisional(self) -> bool:
        """Whether the limits in force come from few points."""
        return self.control is not None and self.control.phases[-1].baseline < FEWEST_FOR_LIMITS


def look(chart: Chart, rules: ChartRules, until: datetime, span: timedelta = YEAR) -> Look:
    """Look at a chart over a span; limits come from the beginning of each phase, also where that lies before it."""
    start = until - span
    every = events_of(chart)
    events = [event for event in every if event.at <= until]
    before = [event.at for event in events if event.at <= start]
    points = (_lots if chart.product_id else _checks)(chart, before[-1] if before else None, until)
    counted = [point for point in points if point.counted]
    starts = _starts(counted, events)
    control, why = _control(counted, rules, [place for place, _ in starts])
    return Look(chart, rules, tuple(points), tuple(counted), control, why, tuple(starts), (start, until), tuple(every))


def _control(counted: Sequence[Seen], rules: ChartRules, places: Sequence[int]) -> tuple[ControlChart | None, str]:
    if len(counted) < 2:
        return None, f"{len(counted)} points that count; a chart needs two, and {FEWEST} before it says anything."
    try:
        return _numbers(tuple(point.value for point in counted), rules, tuple(places)), ""
    except InputError as error:
        return None, f"No limits: {error.value}; needed: {error.allowed}."


@lru_cache(maxsize=64)
def _numbers(values: tuple[float, ...], rules: ChartRules, places: tuple[int, ...]) -> ControlChart:
    """The chart's numbers; the same values are not reckoned twice."""
    return control_chart(values, rules, breaks=places)


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


def _checks(chart: Chart, begin: datetime | None, until: datetime) -> list[Seen]:
    """Readings of failed checks are shown and do not count: they have a deviation of their own."""
    with connection.cursor() as cursor:
        cursor.execute(CHECKS, [chart.pk, int(begin.timestamp()) if begin else 0, int(until.timestamp())])
        rows = cursor.fetchall()
    return [
        Seen(at_s, value, check, bool(within) and not void, bool(void)) for at_s, value, check, within, void in rows
    ]


def _lots(chart: Chart, begin: datetime | None, until: datetime) -> list[Seen]:
    """A lot of the control product is a point: the mean of its counting runs on the instrument, at the last one."""
    first = max(at for at in (begin, chart.since) if at is not None)
    runs = Run.objects.filter(
        AT_REST,
        instrument_id=chart.instrument_id,
        portion__sample__lot__product_id=chart.product_id,
        voided_at__isnull=True,
        corrected_by__isnull=True,
        read_at__range=(first, until if chart.ended_at is None else min(until, chart.ended_at)),
    )
    lots: dict[int, list[tuple[datetime, float]]] = {}
    for lot, at, a_w in runs.values_list("portion__sample__lot_id", "read_at", "a_w"):
        lots.setdefault(lot, []).append((at, float(a_w)))
    return sorted(Seen(int(max(read)[0].timestamp()), fmean(a_w for _, a_w in read), lot) for lot, read in lots.items())

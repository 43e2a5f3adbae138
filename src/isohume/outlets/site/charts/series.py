"""A chart looked at: its points since the phase in which the span begins, its phases, and what signals."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from statistics import fmean

from django.db import connection

from isohume.foundation.metrology.charts_by_point import FEWEST_FOR_LIMITS, ChartRules, ControlChart, control_chart
from isohume.foundation.metrology.run_rules import Signal
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import AT_REST, Run
from isohume.outlets.site.charts.alike import without_limits
from isohume.outlets.site.charts.events import Event, events_of
from isohume.outlets.site.charts.joined import joined
from isohume.outlets.site.charts.models import Chart
from isohume.outlets.site.charts.seen import Seen, SeenPoints

YEAR = timedelta(days=365)
VOID = "SELECT id FROM checks_check WHERE instrument_id = %s AND voided_at IS NOT NULL"
CHECKS = """
SELECT at_s, value, of_check_id, +within
FROM charts_chartpoint WHERE chart_id = %s AND at_s BETWEEN %s AND %s AND of_check_id > %s ORDER BY at_s, id
"""
"""An index each answers them, no table is opened: a chart's points lie scattered among those of every other chart.
The sign lets the number through as it is kept; as a truth value each one would be translated."""
FEWEST = 8
"""A phase of fewer points says nothing yet: its limits hang on single values (no source)."""


@dataclass(frozen=True, slots=True)
class Look:
    """What a chart says. `counted` are the points of `control`, in its order; `starts` where phases begin, and why.

    events: every one known, those of a later hour too. historic: how many first points of `counted` are historical,
    unverified; of_history is said of them. seeded: the first phase of own points is held against limits from them.
    """

    chart: Chart
    rules: ChartRules
    points: SeenPoints
    counted: SeenPoints
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
        start_s = self.start_s
        return [s for s in within if self.counted.at_s[s.index] >= start_s]

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


@dataclass(frozen=True, slots=True)
class Points:
    """What was read of a chart for a span: its points since the phase began in which the span begins, and its events.

    Two of them alike look alike, whatever was written elsewhere meanwhile.
    """

    chart: Chart
    span: tuple[datetime, datetime]
    points: SeenPoints
    events: tuple[Event, ...]


Reader = Callable[[Chart, datetime | None, datetime], SeenPoints]


def look(chart: Chart, rules: ChartRules, until: datetime, span: timedelta = YEAR) -> Look:
    """Look at a chart over a span; limits come from the beginning of each phase, also where that lies before it."""
    return judged(points_of(chart, until, span), rules)


def points_of(chart: Chart, until: datetime, span: timedelta, checks: Reader | None = None) -> Points:
    """Read what a look at a chart needs; `checks`: how the points of a reference are read."""
    start = until - span
    events = events_of(chart)
    before = [event.at for event in events if event.at <= start]
    read = _lots if chart.product_id else checks or checks_between
    return Points(chart, (start, until), read(chart, before[-1] if before else None, until), tuple(events))


def judged(read: Points, rules: ChartRules) -> Look:
    """The look at what was read."""
    counted = read.points.that_count()
    starts = _starts(counted, [event for event in read.events if event.at <= read.span[1]])
    control, why = _control(counted, rules, [place for place, _ in starts])
    return Look(read.chart, rules, read.points, counted, control, why, tuple(starts), read.span, read.events)


def _control(counted: SeenPoints, rules: ChartRules, places: Sequence[int]) -> tuple[ControlChart | None, str]:
    if len(counted) < 2:
        return None, f"{len(counted)} points that count; a chart needs two, and {FEWEST} before it says anything."
    edges = [0, len(counted)] if rules.common_sigma else [0, *places, len(counted)]
    within = tuple(places) if rules.common_sigma else ()
    parts = []
    for start, end in pairwise(edges):
        values = counted.value[start:end]
        try:
            parts.append(_numbers(values, rules, within))
        except InputError as error:
            if end == len(counted):
                return None, f"No limits: {error.value}; needed: {error.allowed}."
            parts.append(without_limits(values, rules))
    return joined(parts), ""


@lru_cache(maxsize=64)
def _numbers(values: tuple[float, ...], rules: ChartRules, places: tuple[int, ...]) -> ControlChart:
    """A phase's numbers, or those of all phases with one sigma; the same values are not reckoned twice."""
    return control_chart(values, rules, breaks=places)


def _starts(counted: SeenPoints, events: Sequence[Event]) -> list[tuple[int, str]]:
    """Where a new phase begins and why; a phase that would have fewer than two points joins the next one."""
    found: list[tuple[int, list[str]]] = []
    for event in events:
        place = bisect_left(counted.at_s, event.at.timestamp())
        if place in (0, len(counted)):
            continue
        if found and place - found[-1][0] < 2:
            found[-1][1].append(event.what)
        elif place >= 2 and len(counted) - place >= 2:
            found.append((place, [event.what]))
    return [(place, ", ".join(dict.fromkeys(what))) for place, what in found]


def void_checks(chart: Chart) -> frozenset[int]:
    """The void checks of a chart's instrument: few."""
    with connection.cursor() as cursor:
        cursor.execute(VOID, [chart.instrument_id])
        return frozenset([check for (check,) in cursor.fetchall()])


def checks_between(
    chart: Chart, begin: datetime | None, until: datetime, after: int = 0, void: frozenset[int] | None = None
) -> SeenPoints:
    """The points of a reference's chart; `after`: only those of later checks than this one. void: where known.

    Readings of failed checks are shown and do not count: they have a deviation of their own.
    """
    void = void_checks(chart) if void is None else void
    with connection.cursor() as cursor:
        cursor.execute(CHECKS, [chart.pk, *seconds(begin, until), after])
        rows = cursor.fetchall()
    if not rows:
        return SeenPoints()
    at_s, value, of, within = zip(*rows, strict=True)
    none = (False,) * len(rows)
    if void.isdisjoint(of):
        return SeenPoints(at_s, value, of, within, none, none)
    is_void = tuple([check in void for check in of])
    counted = tuple([bool(one) and not other for one, other in zip(within, is_void, strict=True)])
    return SeenPoints(at_s, value, of, counted, is_void, none)


def seconds(begin: datetime | None, until: datetime) -> tuple[int, int]:
    """From when to when, as points count time."""
    return int(begin.timestamp()) if begin else 0, int(until.timestamp())


def _lots(chart: Chart, begin: datetime | None, until: datetime) -> SeenPoints:
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
    found = [Seen(int(max(read)[0].timestamp()), fmean(a_w for _, a_w in read), lot) for lot, read in lots.items()]
    return SeenPoints.of_rows(sorted(found))

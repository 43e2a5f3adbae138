"""The weeks of an instrument's references as drawn charts, one a reference."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from isohume.outlets.paper.time_spec import PointState, TimeBreak, TimeLimits, TimePoint
from isohume.outlets.site.checks.history import Break, History, Point, Series
from isohume.outlets.site.look.screen_line import ScreenLine, screen_chart

HEADERS = ("When", "Deviation", "State", "Said of it")
MOST_NAMED = 6  # more events than this are a routine: then only cleanings that answer a failed check are drawn


@dataclass(frozen=True, slots=True)
class Chart:
    """One reference's chart with its table."""

    name: str
    drawn: ScreenLine


def charts_of(found: History, zone: ZoneInfo) -> list[Chart]:
    """A chart for each reference, lowest first, with the laboratory's own limit on both sides.

    zone: the plant's, in which the table tells the moments.
    """
    breaks = [TimeBreak(stop.at.astimezone(zone), stop.what) for stop in drawn_breaks(found)]
    limits = TimeLimits(-found.limit, found.limit)
    return [Chart(series.name, _chart(series, limits, breaks, zone)) for series in found.series]


def drawn_breaks(found: History) -> list[Break]:
    """The breaks that are named on the chart."""
    if len(found.breaks) <= MOST_NAMED:
        return list(found.breaks)
    checks = sorted({point.at for series in found.series for point in series.points})
    failed = [stop.at for stop in found.breaks if stop.what == "failed check"]
    return [s for s in found.breaks if s.what == "failed check" or _answers(s.at, failed, checks)]


def _answers(cleaned: datetime, failed: list[datetime], checks: list[datetime]) -> bool:
    """Whether the last check before a cleaning had failed."""
    before = [at for at in checks if at <= cleaned]
    return bool(before) and before[-1] in failed


def _chart(series: Series, limits: TimeLimits, breaks: list[TimeBreak], zone: ZoneInfo) -> ScreenLine:
    points = [_point(point, zone) for point in series.points]
    title = f"Deviations of {series.name}, expected {series.expected:.4f}"
    return screen_chart(points, centre=None, limits=limits, title=title, breaks=breaks)


def _point(point: Point, zone: ZoneInfo) -> TimePoint:
    state: PointState = "void" if point.void else "within" if point.within else "beyond"
    return TimePoint(point.at.astimezone(zone), point.deviation, state, f"check {point.check}")

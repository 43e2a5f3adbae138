"""The deviations of an instrument's references over weeks, and what broke their course."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check, Cleaning
from isohume.outlets.site.register.models import Instrument

WEEKS = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Point:
    """One reference in one check: when, how far off, whether within, whether the check is void."""

    at: datetime
    deviation: float
    within: bool
    void: bool
    check: int


@dataclass(frozen=True, slots=True)
class Series:
    """One reference over time."""

    name: str
    expected: float
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Break:
    """A moment at which the course starts anew."""

    at: datetime
    what: str  # "cleaning" or "failed check"


@dataclass(frozen=True, slots=True)
class History:
    """Everything a chart of an instrument's checks shows."""

    start: datetime
    end: datetime
    limit: float
    series: tuple[Series, ...]
    breaks: tuple[Break, ...]


def history(instrument: Instrument, end: datetime, span: timedelta = WEEKS) -> History:
    """The deviations of each reference of an instrument, lowest reference first, in three queries or fewer."""
    start = end - span
    checks = list(
        Check.objects.filter(instrument=instrument, last_read_at__gte=start, last_read_at__lte=end)
        .order_by("last_read_at", "pk")
        .values("pk", "last_read_at", "passed", "voided_at", "result")
    )
    cleanings = Cleaning.objects.filter(instrument=instrument, at__gte=start, at__lte=end).values_list("at", flat=True)
    breaks = [Break(at, "cleaning") for at in cleanings]
    breaks += [Break(c["last_read_at"], "failed check") for c in checks if not c["passed"] and c["voided_at"] is None]
    ordered = tuple(sorted(breaks, key=lambda b: b.at))
    return History(start, end, float(instrument.check_limit), tuple(_series(checks)), ordered)


def _series(checks: Iterable[dict[str, Any]]) -> list[Series]:
    found: dict[str, tuple[float, list[Point]]] = {}
    for check in checks:
        for s in check["result"]["solutions"]:
            _, points = found.setdefault(named(s["solution"], s["molality"]), (s["expected"], []))
            void = check["voided_at"] is not None
            points.append(Point(check["last_read_at"], s["deviation"], s["within"], void, check["pk"]))
    ordered = sorted(found.items(), key=lambda item: item[1][0])
    return [Series(name, expected, tuple(points)) for name, (expected, points) in ordered]

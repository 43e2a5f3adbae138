"""Signals become tasks: a deviation with an owner to come, once for the same run of points."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from isohume.foundation.metrology.run_rules import Signal
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.charts.models import Chart, ChartSignal
from isohume.outlets.site.charts.points import keep_points
from isohume.outlets.site.charts.rules import rule_of, signal_words, what_to_do
from isohume.outlets.site.charts.series import Look, look
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.models import Deviation

BACK = timedelta(days=90)
LONGEST = 500


def after_check(check: Check, by: By) -> None:
    """What charts do with a check just kept: its points, and a task for each signal at them.

    Control products on the instrument are looked at too: their lots were read since the check before.
    """
    charts = keep_points(check)
    products = Chart.objects.filter(instrument=check.instrument, product__isnull=False, ended_at__isnull=True)
    open_tasks([*charts, *products.select_related("product", "instrument", "site")], by)


def open_tasks(charts: Iterable[Chart], by: By) -> list[Deviation]:
    """A task for each chart whose last point signals, unless its run of points has one."""
    opened = []
    for chart in charts:
        seen = look(chart, rule_of(chart).as_rules(), by.at, BACK)
        for side in (1, -1):
            found = [signal for signal in seen.now if signal.side == side]
            if found and not _known(seen, found, side):
                opened.append(_open(seen, found, side, by))
    return opened


def untold(charts: Iterable[Look]) -> list[Look]:
    """The looks whose last point signals without a task."""
    return [
        seen
        for seen in charts
        if any(not _task(seen, [s for s in seen.now if s.side == side], side) for side in {s.side for s in seen.now})
    ]


def _task(seen: Look, found: list[Signal], side: int) -> ChartSignal | None:
    begun = seen.counted[_begun(seen, found, side)].at
    told = ChartSignal.objects.filter(chart=seen.chart, side=side, last_at__gte=begun)
    return told.order_by("-last_at").first()


def _begun(seen: Look, found: list[Signal], side: int) -> int:
    """Where the run of points began that these signals end: each signal right after another one goes on with it."""
    first = min(signal.first for signal in found)
    for signal in sorted(seen.signals, key=lambda one: one.index, reverse=True):
        if signal.side == side and signal.index >= first - 1:
            first = min(first, signal.first)
    return first


def _known(seen: Look, found: list[Signal], side: int) -> bool:
    """Whether a task speaks of points of the same run already; it then speaks of the newest one too."""
    told = _task(seen, found, side)
    if told is None:
        return False
    told.last_at = seen.counted[-1].at
    told.save(update_fields=["last_at"])
    return True


def _open(seen: Look, found: list[Signal], side: int, by: By) -> Deviation:
    first = seen.counted[min(signal.first for signal in found)].at
    said = "; ".join(signal_words(signal) for signal in found)
    to_do = " ".join(dict.fromkeys(what_to_do(seen.chart, signal.rule) for signal in found))
    what = f"Chart of {seen.chart}: {said}, since {shown_at(first, seen.chart.site)}. {to_do}"
    what = what if len(what) <= LONGEST else f"{what[: LONGEST - 3]}..."
    task = perform(OpenDeviation(seen.chart.site, "chart signal", what, about=seen.chart.instrument.ref), by)
    ChartSignal.objects.create(chart=seen.chart, side=side, first_at=first, last_at=seen.counted[-1].at, deviation=task)
    return task

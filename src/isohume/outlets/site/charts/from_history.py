"""Past checks brought from spreadsheets, on a chart: a phase of their own before the first own check.

They are historical, unverified, and say so. They never signal and open no task; the first own points are held against
limits from them only while there are fewer than a chart needs, and what is then seen is on the page alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from isohume.foundation.metrology.charts_by_point import ControlChart, Phase, control_chart
from isohume.foundation.metrology.run_rules import Signal
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.charts.models import Chart, ChartPoint
from isohume.outlets.site.charts.series import FEWEST, Look, Seen
from isohume.outlets.site.incoming.models.history import UNVERIFIED
from isohume.outlets.site.incoming.queries import historic_check_deviations, is_reference

OWN, OWN_SEEDED = "own checks", "own checks, limits from the past ones"


def with_history(seen: Look) -> Look:
    """A look with the past checks of its instrument and reference before it; the same look where there are none.

    Where the look begins with a later phase than the chart's first one, history is no neighbour of it and stays away.
    """
    past = _past_points(seen)
    if not past:
        return seen
    try:
        before = control_chart([point.value for point in past], replace(seen.rules, common_sigma=False))
    except InputError:
        return replace(seen, of_history=f"{_past(len(past))}: too few or all alike, so no limits come from them.")
    seeded = len(seen.counted) < FEWEST <= len(past) and not any(
        past[-1].at <= event.at <= seen.span[1] for event in seen.events
    )
    own = _held_against(seen, before) if seeded else seen.control
    if past[-1].at_s < seen.start_s and not seeded:
        return seen
    if own is None and seen.counted:
        return replace(seen, of_history=f"{_past(len(past))}: shown from the second own point on.")
    said = f"{_past(len(past))}. They open no task and release nothing."
    if seeded:
        said += f" Limits come from them until there are {FEWEST} own points."
    n, begun = len(past), OWN_SEEDED if seeded else OWN
    later = [(place + n, why) for place, why in seen.starts]
    return replace(
        seen,
        points=(*past, *seen.points),
        counted=(*past, *(seen.counted if own else ())),
        control=_joined(before, own, n),
        why_none="",
        starts=((0, UNVERIFIED), (n, begun), *later) if own else (),
        historic=n,
        seeded=seeded and own is not None,
        of_history=said,
    )


def _past(n: int) -> str:
    return f"{n} past check{'s' if n != 1 else ''} from spreadsheets, {UNVERIFIED}"


def _past_points(seen: Look) -> tuple[Seen, ...]:
    """The past checks of the chart before its first own check, where the look holds that one."""
    chart = seen.chart
    if chart.product_id or not seen.points:
        return ()
    found = [one for one in historic_check_deviations(chart.instrument) if is_reference(one.reference, chart.of)]
    first = _first_own(chart) if found else None
    if first is None or first != seen.points[0].at_s:
        return ()
    day = plant_day(seen.points[0].at, chart.site)
    zone = ZoneInfo(chart.site.time_zone)
    return tuple(Seen(_noon(one.on, zone), one.deviation, one.file, historic=True) for one in found if one.on < day)


def _first_own(chart: Chart) -> int | None:
    return ChartPoint.objects.filter(chart=chart).order_by("at_s").values_list("at_s", flat=True).first()


def _noon(on: date, zone: ZoneInfo) -> int:
    """A spreadsheet knows the day alone: it stands in its middle."""
    return int(datetime.combine(on, time(12), zone).timestamp())


def _held_against(seen: Look, before: ControlChart) -> ControlChart | None:
    """Own points against centre and sigma of the past ones."""
    if not seen.counted:
        return None
    base = before.phases[0]
    values = [point.value for point in seen.counted]
    own = control_chart(values, seen.rules, center=base.center, sigma=base.sigma)
    return replace(own, phases=tuple(replace(phase, baseline=base.baseline) for phase in own.phases))


def _joined(before: ControlChart, own: ControlChart | None, n: int) -> ControlChart:
    """The two one after the other; signals are those of own points alone."""
    if own is None:
        return replace(before, signals=(), range_signals=())
    return ControlChart(
        own.rules,
        (*before.phases, *(_later(phase, n) for phase in own.phases)),
        before.statistic + own.statistic,
        before.limits + own.limits,
        tuple(_moved(own.signals, n)),
        before.ranges + own.ranges,
        tuple(_moved(own.range_signals, n)),
        before.high + own.high,
        before.low + own.low,
    )


def _later(phase: Phase, n: int) -> Phase:
    return replace(phase, start=phase.start + n, end=phase.end + n)


def _moved(signals: Sequence[Signal], n: int) -> list[Signal]:
    return [Signal(one.index + n, one.rule, one.first + n, one.side) for one in signals]

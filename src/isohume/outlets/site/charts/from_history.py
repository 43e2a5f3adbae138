"""Past checks brought from spreadsheets, on a chart: a phase of their own before the first own check.

They are historical, unverified, and say so. They never signal and open no task; the first own points are held against
limits from them only while there are fewer than a chart needs, and what is then seen is on the page alone.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.db import connection

from isohume.foundation.metrology.charts_by_point import ControlChart, control_chart
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.charts.joined import joined
from isohume.outlets.site.charts.models import Chart, ChartPoint
from isohume.outlets.site.charts.seen import Seen, SeenPoints
from isohume.outlets.site.charts.series import FEWEST, Look
from isohume.outlets.site.incoming.models.history import UNVERIFIED
from isohume.outlets.site.incoming.queries import historic_check_deviations, is_reference

ANY_PAST = "SELECT EXISTS (SELECT 1 FROM incoming_historiccheck WHERE instrument_id = %s)"
OWN, OWN_SEEDED = "own checks", "own checks, limits from the past ones"


def with_history(seen: Look) -> Look:
    """A look with the past checks of its instrument and reference before it; the same look where there are none."""
    return behind(past_points(seen.chart, seen.points), seen)


def behind(past: SeenPoints, seen: Look) -> Look:
    """A look with these past checks before it."""
    if not past:
        return seen
    try:
        before = control_chart(past.value, replace(seen.rules, common_sigma=False))
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
        points=past.followed_by(seen.points),
        counted=past.followed_by(seen.counted) if own else past,
        control=_joined(before, own),
        why_none="",
        starts=((0, UNVERIFIED), (n, begun), *later) if own else (),
        historic=n,
        seeded=seeded and own is not None,
        of_history=said,
    )


def _past(n: int) -> str:
    return f"{n} past check{'s' if n != 1 else ''} from spreadsheets, {UNVERIFIED}"


def past_points(chart: Chart, own: SeenPoints) -> SeenPoints:
    """The past checks of a chart before its first own check, where that is the first of these points.

    Where a look begins with a later phase than the chart's first one, history is no neighbour of it and stays away.
    """
    if chart.product_id or not own or not _any_past(chart):
        return SeenPoints()
    found = [one for one in historic_check_deviations(chart.instrument) if is_reference(one.reference, chart.of)]
    first = _first_own(chart) if found else None
    if first is None or first != own[0].at_s:
        return SeenPoints()
    day = plant_day(own[0].at, chart.site)
    zone = ZoneInfo(chart.site.time_zone)
    return SeenPoints.of_rows(
        Seen(_noon(one.on, zone), one.deviation, one.file, historic=True) for one in found if one.on < day
    )


def _any_past(chart: Chart) -> bool:
    """Whether anything was ever brought of the instrument: most have nothing, and their pages ask no further."""
    with connection.cursor() as cursor:
        cursor.execute(ANY_PAST, [chart.instrument_id])
        return bool(cursor.fetchone()[0])


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
    own = control_chart(seen.counted.value, seen.rules, center=base.center, sigma=base.sigma)
    return replace(own, phases=tuple(replace(phase, baseline=base.baseline) for phase in own.phases))


def _joined(before: ControlChart, own: ControlChart | None) -> ControlChart:
    """The two one after the other; signals are those of own points alone."""
    past = replace(before, signals=(), range_signals=())
    return past if own is None else joined((past, own))

"""The points of charts: kept with each check as a projection of its result, and rebuilt from the checks."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from django.db import connection

from isohume.outlets.site.charts.models import Chart, ChartPoint, InUseChange, LedgerSeen
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.register.models import Instrument

FROM_LEDGER = {"instrument_withdrawn": "taken out of use", "instrument_returned": "returned to use"}
BATCH = 500
LONGEST = 60
BOTTLE = " / "
"""Between the code of a lot and its bottle, in a check's result."""


def keep_points(check: Check) -> list[Chart]:
    """Give each reference of a check its point, in the transaction of the check; the charts it went to."""
    charts, points = [], []
    for solution in check.result["solutions"]:
        chart = _chart_of(check, solution)
        point = _point(chart, check, solution)
        point.new_lot = _is_new(chart, point.lot)
        charts.append(chart)
        points.append(point)
    ChartPoint.objects.bulk_create(points, ignore_conflicts=True)
    read_ledger(check.instrument)
    return charts


def rebuild_points(checks: Iterable[Check] | None = None) -> int:
    """Throw the projection away and make it anew from the checks; how many points it has."""
    ChartPoint.objects.all().delete()
    InUseChange.objects.all().delete()
    LedgerSeen.objects.all().delete()
    known: dict[tuple[int, str, str], Chart] = {}
    lots: dict[int, set[str]] = {}
    waiting: list[ChartPoint] = []
    every = checks if checks is not None else Check.objects.select_related("instrument__site").order_by("pk").iterator()
    for check in every:
        for solution in check.result["solutions"]:
            key = (check.instrument_id, solution["solution"], _molality(solution))
            if key not in known:
                known[key] = _chart_of(check, solution)
            point = _point(known[key], check, solution)
            seen = lots.setdefault(known[key].pk, set())
            point.new_lot = bool(seen and point.lot and point.lot not in seen)
            seen.add(point.lot)
            waiting.append(point)
        if len(waiting) >= BATCH:
            ChartPoint.objects.bulk_create(waiting)
            waiting = []
    ChartPoint.objects.bulk_create(waiting)
    for instrument in Instrument.objects.all():
        read_ledger(instrument)
    return ChartPoint.objects.count()


def read_ledger(instrument: Instrument) -> None:
    """Keep what the ledger says since the last time of taking an instrument out of use and returning it."""
    seen, _ = LedgerSeen.objects.get_or_create(instrument=instrument)
    kinds = ",".join(["%s"] * len(FROM_LEDGER))
    with connection.cursor() as cursor:
        cursor.execute("SELECT coalesce(max(seq), 0) FROM ledger")
        (last,) = cursor.fetchone()
        cursor.execute(
            "SELECT l.at, l.kind FROM ledger_trailline t JOIN ledger l ON l.seq = t.seq "
            f"WHERE t.ref = %s AND t.seq > %s AND l.kind IN ({kinds}) ORDER BY t.seq",
            [instrument.ref, seen.seq, *FROM_LEDGER],
        )
        rows = cursor.fetchall()
    InUseChange.objects.bulk_create(
        InUseChange(instrument=instrument, at=datetime.fromisoformat(at).astimezone(UTC), what=FROM_LEDGER[kind])
        for at, kind in rows
    )
    seen.seq = last
    seen.save(update_fields=["seq"])


def _is_new(chart: Chart, lot: str) -> bool:
    """Whether a lot was never read on a chart that has points; most often it is that of the point before."""
    before = ChartPoint.objects.filter(chart=chart)
    last = before.order_by("-at_s").values_list("lot", flat=True).first()
    return bool(lot) and last not in (None, lot) and not before.filter(lot=lot).exists()


def _chart_of(check: Check, solution: dict[str, Any]) -> Chart:
    found, _ = Chart.objects.get_or_create(
        instrument=check.instrument,
        solution=solution["solution"],
        molality=_molality(solution),
        product=None,
        defaults={"site": check.instrument.site},
    )
    return found


def _molality(solution: dict[str, Any]) -> str:
    return "" if solution["molality"] is None else f"{solution['molality']:g}"


def _point(chart: Chart, check: Check, solution: dict[str, Any]) -> ChartPoint:
    return ChartPoint(
        chart=chart,
        of_check=check,
        at_s=int(check.last_read_at.timestamp()),
        value=solution["deviation"],
        within=solution["within"],
        lot=next(iter(solution.get("lots", ())), "").partition(BOTTLE)[0][:LONGEST],
    )

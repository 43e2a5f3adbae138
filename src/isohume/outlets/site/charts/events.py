"""The dated events of a chart: what the register and the ledger know, a new lot of the reference, what people typed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from django.db import connection

from isohume.outlets.site.adjustments.models import MOVES
from isohume.outlets.site.charts.models import Chart

EVENTS = f"""
SELECT 1, id, at, 0, kind FROM adjustments_scalechange
  WHERE instrument_id = %s AND kind IN ({", ".join(["%s"] * len(MOVES))})
UNION ALL SELECT 2, id, at, 0, what FROM charts_inusechange WHERE instrument_id = %s
UNION ALL SELECT 3, id, at, 0, what FROM charts_chartevent
  WHERE chart_id = %s OR (chart_id IS NULL AND instrument_id = %s)
UNION ALL SELECT 4, id, NULL, at_s, lot FROM charts_chartpoint INDEXED BY chart_point_of_new_lot
  WHERE chart_id = %s AND new_lot
"""
"""Asked as one question: to put four into words takes longer than all the answers. The index is named, for SQLite
takes that of all the points of the chart where it does not know how few of them begin a lot."""
NEW_LOT = 4


@dataclass(frozen=True, slots=True)
class Event:
    """A moment from which on a chart begins anew."""

    at: datetime
    what: str


def events_of(chart: Chart) -> list[Event]:
    """Everything that begins a new phase of a chart, in time order: changes of the instrument's scale first."""
    instrument = chart.instrument_id
    with connection.cursor() as cursor:
        cursor.execute(EVENTS, [instrument, *MOVES, instrument, chart.pk, instrument, chart.pk])
        rows = sorted(cursor.fetchall(), key=lambda row: row[:2])
    found = [
        Event(datetime.fromtimestamp(at_s, UTC), f"new lot {what}") if whose == NEW_LOT else Event(moment_of(at), what)
        for whose, _, at, at_s, what in rows
    ]
    return sorted(found, key=lambda event: event.at)


def moment_of(kept: str | datetime) -> datetime:
    """A moment as a plain question answers it: in UTC, as words or without a zone."""
    moment = datetime.fromisoformat(kept) if isinstance(kept, str) else kept
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)

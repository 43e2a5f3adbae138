"""The dated events of a chart: what the register and the ledger know, a new lot of the reference, what people typed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from django.db.models import Q

from isohume.outlets.site.adjustments.queries import adjustment_events
from isohume.outlets.site.charts.models import Chart, ChartEvent, ChartPoint
from isohume.outlets.site.register.models import Instrument


@dataclass(frozen=True, slots=True)
class Event:
    """A moment from which on a chart begins anew."""

    at: datetime
    what: str


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

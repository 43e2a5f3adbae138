"""Does a bottle still read true? Its readings against where it should read, whichever instrument read it."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions import reference_value
from isohume.outlets.paper.time_spec import PointState, TimePoint
from isohume.outlets.site.checks.models import CheckReading
from isohume.outlets.site.register.models import Bottle
from isohume.outlets.site.register.pictures import Chart, chart_of

MOST_READINGS = 200
DAY = timedelta(days=1)


def deviation_of(reading: CheckReading) -> float | None:
    """How far a reading was from its solution's value at its own temperature; None beyond the solution's range."""
    lot = reading.bottle.solution_lot
    molality = float(lot.molality) if lot.molality else None
    try:
        expected = reference_value(lot.solution, float(reading.temperature_c), molality).a_w
    except InputError:
        return None
    return float(reading.a_w) - expected


def bottle_chart(bottle: Bottle) -> Chart | None:
    """The deviations of a bottle's readings in time, each with its instrument; None before it was read."""
    zone = ZoneInfo(bottle.solution_lot.site.time_zone)
    readings = CheckReading.objects.filter(bottle=bottle).select_related("bottle__solution_lot", "of_check__instrument")
    points, limits = [], []
    for reading in readings.order_by("-read_at")[:MOST_READINGS]:
        deviation = deviation_of(reading)
        if deviation is None:
            continue
        check = reading.of_check
        limits.append(float(check.limit))
        state: PointState = "void" if check.voided_at else "within" if abs(deviation) <= limits[-1] else "beyond"
        points.append(TimePoint(reading.read_at.astimezone(zone), deviation, state, check.instrument.name))
    if not points:
        return None
    return chart_of(points, (), max(limits), f"Deviations of bottle {bottle.code} of {bottle.solution_lot.name}")

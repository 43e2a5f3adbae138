"""The correction of a reading's own time as a lot file holds it."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from isohume.outlets.site.adjustments.queries import correction_in_force, source_of
from isohume.outlets.site.register.models import Instrument


def correction_table(instrument: Instrument, read_at: datetime, zone: ZoneInfo) -> dict[str, Any]:
    """The table [correction] of a lot read at a moment; empty, and left out, where no correction was in force."""
    found = correction_in_force(instrument, read_at)
    if found is None:
        return {}
    return {
        "id": instrument.name,
        "version": str(found.version),
        "offset": found.offset,
        "slope": found.slope,
        "u_offset": found.u_offset,
        "u_slope": found.u_slope,
        "covariance": found.covariance,
        "lowest_read": found.lowest_read,
        "highest_read": found.highest_read,
        "since": found.since.astimezone(zone).isoformat(),
        "source": source_of(found),
    }

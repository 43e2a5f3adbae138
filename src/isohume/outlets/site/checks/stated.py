"""What an instrument's readings were stated as: each with the correction that was in force when it was read."""

from __future__ import annotations

from datetime import datetime

from isohume.bench.assurance.correction import Correction as Line
from isohume.bench.assurance.look_back import PastReading
from isohume.outlets.site.adjustments.models import Correction
from isohume.outlets.site.adjustments.queries import line_of


class Stated:
    """The corrections of one instrument, asked for once: a year of readings asks no more than one reading."""

    def __init__(self, instrument: int) -> None:
        begun = Correction.objects.filter(instrument=instrument).select_related("instrument__site", "of_check")
        self._newest_first = list(begun.order_by("-since", "-version"))

    def reading(self, read: float, at: datetime, method: int) -> PastReading:
        """A reading as the look-back needs it: its value as stated, and on which scale."""
        found = self._in_force(at)
        if found is None:
            return PastReading(read, at, method)
        return PastReading(line_of(found).on_line(read), at, method, found.ref)

    def line(self, at: datetime) -> Line | None:
        """The correction in force at a moment."""
        found = self._in_force(at)
        return None if found is None else line_of(found)

    def line_named(self, ref: str) -> Line | None:
        """A correction by its name in the ledger."""
        return next((line_of(one) for one in self._newest_first if one.ref == ref), None)

    def _in_force(self, at: datetime) -> Correction | None:
        """As `correction_in_force` asks it of the tables."""
        found = next((one for one in self._newest_first if one.since <= at), None)
        return None if found is None or (found.ended_at is not None and found.ended_at <= at) else found

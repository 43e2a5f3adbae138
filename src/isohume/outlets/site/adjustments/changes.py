"""The line that a change of scale leaves, and the end of a correction that it may bring."""

from __future__ import annotations

from datetime import datetime, timedelta

from isohume.bench.assurance import Correction as Line
from isohume.outlets.site.adjustments.models import Correction, ScaleChange
from isohume.outlets.site.adjustments.queries import line_of
from isohume.outlets.site.people.models import Person


def next_minute(at: datetime) -> datetime:
    """The next full minute: readings are typed to the minute, and one must stand clearly before it or after it."""
    whole = at.replace(second=0, microsecond=0)
    return whole if whole == at else whole + timedelta(minutes=1)


def begin(correction: Correction, before: Line | None) -> ScaleChange:
    """The change that a correction makes when it begins, against what was stated before it."""
    line = line_of(correction)
    return _change(correction, "correction began", correction.since, line, before, line)


def end(correction: Correction, at: datetime, by: Person, reason: str) -> ScaleChange:
    """End a correction: readings from then on stand as the instrument gives them."""
    _close(correction, at, by, reason)
    line = line_of(correction)
    return _change(correction, "correction ended", at, line, line, None)


def supersede(correction: Correction, at: datetime, by: Person, version: int) -> None:
    """A correction that another version takes the place of; the new one's beginning is the change."""
    _close(correction, at, by, f"superseded by version {version}")


def _close(correction: Correction, at: datetime, by: Person, reason: str) -> None:
    correction.ended_at, correction.ended_by, correction.ended_reason = at, by, reason
    correction.save(update_fields=["ended_at", "ended_by", "ended_reason"])


def _change(
    correction: Correction, kind: str, at: datetime, places: Line, before: Line | None, after: Line | None
) -> ScaleChange:
    low, high = (float(read) for read in (places.lowest_read, places.highest_read))
    word = "began" if kind == "correction began" else "ended"
    return ScaleChange.objects.create(
        instrument=correction.instrument,
        at=at,
        kind=kind,
        about=correction.ref,
        words=f"{places.named[:1].upper()}{places.named[1:]} {word}",
        low=places.on_line(low),
        low_shift=_stated(after, low) - _stated(before, low),
        high=places.on_line(high),
        high_shift=_stated(after, high) - _stated(before, high),
    )


def _stated(line: Line | None, read: float) -> float:
    return read if line is None else line.on_line(read)

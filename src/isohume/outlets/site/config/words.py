"""Times and numbers as the pages say them: ISO 8601 in the plant's own time, value and u rounded together."""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone

from isohume.foundation.quantity.rounding import round_together


def moment(at: datetime | str | None) -> str:
    """A moment to the minute, in the plant's time."""
    if not at:
        return "not known"
    return _local(at).strftime("%Y-%m-%d %H:%M")


def clock(at: datetime | str | None) -> str:
    """The hour and minute only."""
    return _local(at).strftime("%H:%M") if at else "not known"


def day(on: date | datetime | str | None) -> str:
    """A day."""
    if not on:
        return "not known"
    if isinstance(on, datetime):
        return _local(on).strftime("%Y-%m-%d")
    return on if isinstance(on, str) else on.isoformat()


def rounded(value: float | str | None, u: float | None = None) -> str:
    """A value with its uncertainty, rounded together; without one to four decimals."""
    if value is None:
        return "none"
    shown, shown_u = round_together(float(value), u)
    return f"{shown} (u {shown_u})" if shown_u else shown


def percent(p: float | None) -> str:
    """A probability in percent, never rounded to certainty."""
    if p is None:
        return "not stated"
    if p >= 0.9995:
        return "> 99.9 %"
    return "< 0.1 %" if p < 0.0005 else f"{100 * p:.1f} %"


def _local(at: datetime | str) -> datetime:
    found = datetime.fromisoformat(at) if isinstance(at, str) else at
    return timezone.localtime(found)

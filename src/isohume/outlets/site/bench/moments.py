"""When something happened, as typed at the bench: in the plant's own time, never in the future."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from isohume.bench.reading.check_file import CLOCK_TOLERANCE
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_time
from isohume.outlets.site.people.models import Site

EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
"""Nothing of a bench is older; an earlier year is a slip."""


def event_time(typed: str | datetime, field: str, site: Site, now: datetime) -> datetime:
    """The moment of an event: blank is now, a time without offset is the plant's own, the future is refused."""
    if isinstance(typed, str) and not typed.strip():
        return now
    try:
        at = _in_plant(typed, field, site, now).astimezone(UTC)  # two zones may not be compared in a doubled hour
    except OverflowError:  # the first or last hours a calendar has, moved by the offset
        raise InputError(field, str(typed), f"a time from {EARLIEST.date()} on") from None
    if at < EARLIEST:
        raise InputError(field, str(typed), f"a time from {EARLIEST.date()} on")
    if at > now + CLOCK_TOLERANCE:
        raise InputError(field, str(typed), f"a time that has passed; at the plant it is {shown_at(now, site)}")
    return at


def event_day(typed: str | date, field: str) -> date | None:
    """A day as typed; blank is not known."""
    if isinstance(typed, date):
        return typed
    if not typed.strip():
        return None
    try:
        return date.fromisoformat(typed.strip())
    except ValueError:
        raise InputError(field, typed, "a day such as 2026-09-16") from None


def plant_day(at: datetime, site: Site) -> date:
    """The day it is at the plant."""
    return at.astimezone(ZoneInfo(site.time_zone)).date()


def shown_at(at: datetime, site: Site) -> str:
    """A moment to the minute, in the plant's time, for words; with its offset where the clocks showed it twice."""
    local = at.astimezone(ZoneInfo(site.time_zone))
    offsets = {local.replace(fold=fold).utcoffset() for fold in (0, 1)}
    once = len(offsets) == 1
    return local.strftime("%Y-%m-%d %H:%M") if once else local.isoformat(sep=" ", timespec="minutes")


def before_minute(at: datetime, other: datetime) -> bool:
    """Whether one moment lies in an earlier minute than another: forms give minutes, the server gives seconds."""
    return at < other.replace(second=0, microsecond=0)


def _in_plant(typed: str | datetime, field: str, site: Site, now: datetime) -> datetime:
    notes: list[str] = []
    at = read_time(typed, field, notes)
    if not notes:  # an offset was given
        return at
    zone = ZoneInfo(site.time_zone)
    first, second = (at.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first
    if first.timestamp() > second.timestamp():
        raise InputError(field, str(typed), "a time that the plant's clocks showed: they were put forward over it")
    if second.timestamp() > (now + CLOCK_TOLERANCE).timestamp():
        return first  # the second pass through this hour has not come yet
    if timedelta(0) <= now - second.astimezone(UTC) <= CLOCK_TOLERANCE:
        return second  # a moment ago: what a form that starts with the present time sends
    offered = " or ".join(at.isoformat(timespec="minutes") for at in (first, second))
    raise InputError(field, str(typed), f"{offered}, with the offset: the plant's clocks showed this time twice")

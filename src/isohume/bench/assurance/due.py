"""What is due: overdue first, then by date, each with its days in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from isohume.foundation.quantity.errors import InputError

DAYS_AHEAD = 30


@dataclass(frozen=True, slots=True)
class DueItem:
    """Something with a date: a calibration, a bottle, a competence; what, which one, when, and why."""

    what: str
    ref: str
    due_on: date
    why: str


@dataclass(frozen=True, slots=True)
class Due:
    """A due item seen from a day: the days left (negative once overdue) and that in words."""

    item: DueItem
    days_left: int
    words: str

    @property
    def overdue(self) -> bool:
        """Whether the day has passed; on the day itself it is due, not overdue."""
        return self.days_left < 0


def due_list(items: Iterable[DueItem], today: date, days_ahead: int = DAYS_AHEAD) -> list[Due]:
    """What is overdue or falls due within some days, the most overdue first.

        days_left = due_on - today;  listed where days_left <= days_ahead
    items: the items with their dates [text].
    today: the day in the plant's own zone [time].
    days_ahead: how far to look [d], zero or more.
    Returns: one Due an item that is listed [text], by date, then by what and which one.
    Raises: InputError for a moment in place of a day, or a negative number of days.
    Example: due on the 20th, seen on the 23rd -> "overdue by 3 days".
    Source: none.
    """
    if days_ahead < 0:
        raise InputError("days_ahead", days_ahead, "days, zero or more")
    _day("today", today)
    found = []
    for item in items:
        _day("due_on", item.due_on)
        days_left = (item.due_on - today).days
        if days_left <= days_ahead:
            found.append(Due(item, days_left, _words(days_left)))
    return sorted(found, key=lambda due: (due.days_left, due.item.what, due.item.ref))


def _day(field: str, day: date) -> None:
    """A moment is also a date to the language, but its day depends on a zone: refused rather than guessed."""
    if isinstance(day, datetime):
        raise InputError(field, day.isoformat(), "a day, without a time")


def _words(days_left: int) -> str:
    if days_left == 0:
        return "due today"
    days = "1 day" if abs(days_left) == 1 else f"{abs(days_left)} days"
    return f"due in {days}" if days_left > 0 else f"overdue by {days}"

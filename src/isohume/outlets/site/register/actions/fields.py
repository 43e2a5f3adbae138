"""Fields of the register's forms: words, numbers kept as typed, days."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.db.models import QuerySet

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal, read_words
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.people.models import Site


def needed_words(text: str, field: str, most: int, what: str) -> str:
    """A line of text that must be there; `what` says what is asked for."""
    found = read_words(text, field, most)
    if not found:
        raise InputError(field, "nothing", what)
    return found


def needed_code(text: str, field: str, most: int, what: str) -> str:
    """A name or code that people type, scan and print: look-alike signs would make two of one."""
    found = needed_words(text, field, most, what)
    strange = [c for c in found if not (c.isalnum() or (c.isascii() and c.isprintable()))]
    if strange:
        raise InputError(field, text, "letters, digits and plain signs; write other dashes as -")
    return found


def read_number(text: str, field: str, low: Decimal, high: Decimal, allowed: str) -> str:
    """A number between two ends, kept with the digits as typed; a decimal comma is kept as a point."""
    number = read_decimal(text, field, allowed)
    if not low <= number <= high:
        raise InputError(field, text, allowed)
    return f"{number:f}"


def read_whole(text: str | int, field: str, low: int, high: int, unit: str) -> int:
    """A whole number between two ends."""
    allowed = f"a whole number of {unit}, {low} to {high}"
    typed = str(text).strip()
    if not (typed.isascii() and typed.isdigit() and len(typed) < 9 and low <= int(typed) <= high):
        raise InputError(field, typed, allowed)
    return int(typed)


def read_date(text: str, field: str) -> date:
    """A day in ISO 8601."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(field, text, "a date such as 2026-11-23") from None


def read_past_date(text: str, field: str, site: Site, now: datetime) -> date:
    """A day of the plant that is not in the future."""
    found, today = read_date(text, field), plant_day(now, site)
    if found > today:
        raise InputError(field, text, f"a day not after today ({today.isoformat()})")
    return found


def refuse_taken(others: QuerySet, column: str, value: str, field: str, where: str) -> None:
    """A name that another object has, in any case: two names that differ in case only would be one."""
    taken = {str(found).casefold() for found in others.values_list(column, flat=True)}
    if value.casefold() in taken:
        raise InputError(field, value, f"one that no other has {where}")

"""Fields that the forms of the comparisons share."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.actions.fields import read_date, read_number
from isohume.outlets.site.register.models import Instrument

SMALL = "a number above 0 and at most 0.1, such as 0.005"
LONGEST_AHEAD = timedelta(days=3 * 366)


def small_number(text: str, field: str) -> str:
    """A difference, an uncertainty or a standard deviation of a_w."""
    return read_number(text, field, Decimal("0.00001"), Decimal("0.1"), SMALL)


def small_or_blank(text: str, field: str) -> str:
    """The same where it may be unknown."""
    return small_number(text, field) if text.strip() else ""


def a_w_text(text: str, field: str) -> str:
    """A water activity with the digits as typed."""
    return f"{read_a_w(text, field):f}"


def next_day(text: str, field: str, site: Site, now: datetime) -> date | None:
    """A day ahead, or none."""
    if not text.strip():
        return None
    found, today = read_date(text, field), plant_day(now, site)
    if not today <= found <= today + LONGEST_AHEAD:
        raise InputError(field, text, f"a day from {today.isoformat()} on, at most three years ahead")
    return found


def instrument_of(site: Site, text: str, field: str) -> Instrument:
    """An instrument of the plant, in use or not."""
    found = Instrument.objects.filter(site=site, pk=read_key(text)).first()
    if found is None:
        raise InputError(field, text or "nothing", "an instrument of the register")
    return found

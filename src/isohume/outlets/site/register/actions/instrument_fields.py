"""What may stand in the fields of an instrument; adding and changing one ask the same."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from isohume.bench.record.lot_file import LARGEST_CHECK_LIMIT
from isohume.bench.record.toml_section import SMALLEST_U
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.actions.fields import needed_code, read_date, read_number, read_whole, refuse_taken
from isohume.outlets.site.register.models import Instrument

LONGEST_WARM_UP_MIN = 1440
LIMIT_ALLOWED = f"an a_w, at least {SMALLEST_U:f} and at most {LARGEST_CHECK_LIMIT}"
U_ALLOWED = f"an a_w, zero or more and at most {LARGEST_CHECK_LIMIT}"


def read_fields(typed: dict[str, str], site: Site, but: Instrument | None = None) -> dict[str, Any]:
    """The columns that the typed fields give; a field that is not there is not read.

    typed: serial, location, warm_up_min, check_limit, u_instrument, calibration_due (blank: no date known).
    but: the instrument that is changed; its own serial number is no other's.
    """
    found: dict[str, Any] = {}
    if "serial" in typed:
        found["serial"] = serial = needed_code(typed["serial"], "serial", 60, "the serial number on the instrument")
        others = Instrument.objects.filter(site=site).exclude(pk=but.pk if but else None)
        refuse_taken(others, "serial", serial, "serial", "in this plant")
    if "location" in typed:
        found["location"] = read_words(typed["location"], "location", 120)
    if "warm_up_min" in typed:
        found["warm_up_min"] = read_whole(typed["warm_up_min"], "warm_up_min", 0, LONGEST_WARM_UP_MIN, "minutes")
    if "check_limit" in typed:
        found["check_limit"] = read_number(
            typed["check_limit"], "check_limit", SMALLEST_U, LARGEST_CHECK_LIMIT, LIMIT_ALLOWED
        )
    if "u_instrument" in typed:
        u = read_number(typed["u_instrument"], "u_instrument", Decimal(0), LARGEST_CHECK_LIMIT, U_ALLOWED)
        found["u_instrument"] = u
    if "calibration_due" in typed:
        due = typed["calibration_due"].strip()
        found["calibration_due"] = read_date(due, "calibration_due") if due else None
    return found


def read_answer(text: str, field: str) -> bool:
    """Yes or no, as a form gives it."""
    if text not in ("yes", "no"):
        raise InputError(field, text, "yes or no")
    return text == "yes"

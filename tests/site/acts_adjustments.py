"""What is done after a failed check: fresh portion, cleaning, second lot, adjustment; and corrections, signed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from django.utils import timezone
from tests.site.acts import Act, Words

from isohume.foundation.solutions import reference_value
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, SolutionLot

ANALYST, MANAGER = "rhale", "mfarrow"
LOW, SLIGHTLY = -0.012, -0.003


def adjustment_acts(password: str, words: Words) -> Iterator[Act]:
    """Two instruments: one fails, is adjusted, corrected and not corrected any more; the other stays corrected."""
    yield from _second_lot(words)
    yield from _instrument("AD-1", words)
    first = Instrument.objects.latest("pk")
    yield from _failed_and_adjusted(first, words)
    yield from _corrected(first, password, words)
    ended = {"reason": words("The sensor was replaced", 300), "password": password}
    yield Act("correction_ended", "correction_end", (first.corrections.get().pk,), MANAGER, ended)
    yield from _instrument("AD-2", words)
    second = Instrument.objects.latest("pk")
    yield from _corrected(second, password, words)


def _second_lot(words: Words) -> Iterator[Act]:
    """Another lot of NaCl, with an opened bottle."""
    today = timezone.localdate()
    lot = {
        "code": words("NaCl-second", 60),
        "solution": "NaCl",
        "molality": "",
        "made_on": (today - timedelta(days=3)).isoformat(),
        "expires_on": (today + timedelta(days=360)).isoformat(),
        "made_by": "",
        "made_from": words("Salt of another delivery", 300),
        "certificate": words("none, own work", 200),
    }
    yield Act("solution_lot_added", "solution_new", (), MANAGER, lot)
    key = SolutionLot.objects.latest("pk").pk
    yield Act("bottle_added", "solutionlot_act", (key, "bottle"), MANAGER, {"code": words("only one", 60)})
    bottle = Bottle.objects.get(solution_lot=key).pk
    yield Act("bottle_opened", "bottle_act", (bottle, "open"), MANAGER, {"opened_at": "", "discard_on": ""})


def _instrument(name: str, words: Words) -> Iterator[Act]:
    added = {
        "called": words(name, 60),
        "serial": words(f"{name}-2201", 60),
        "principle": "dew-point measurement",
        "measures_surface_temperature": "yes",
        "location": words("Side table", 120),
        "warm_up_min": "20",
        "check_limit": "0.005",
        "u_instrument": "0.0015",
        "calibration_due": "",
    }
    yield Act("instrument_added", "instrument_new", (), MANAGER, added)
    made = Instrument.objects.latest("pk")
    start = {
        "instrument": made.scan_code,
        "method_version": _method(),
        "room_temperature_c": "21.4",
        "room_rh_percent": "45",
        "warmed_up_since": (timezone.now() - timedelta(hours=2)).isoformat(),
        "block_temperature_c": "25.0",
    }
    yield Act("start_sheet_filled", "start_sheet", (), ANALYST, start)


def _method() -> int:
    return int(MethodVersion.objects.filter(method__products__name="Soft oat bar").latest("pk").pk)


def _check(instrument: Instrument, off: float, words: Words, second: bool = False) -> Act:
    """Mg(NO3)2 and NaCl, off by so much; NaCl of the first or of the second lot."""
    opened = Bottle.objects.filter(opened_at__isnull=False, discarded_at=None, solution_lot__withdrawn_reason="")
    salt = list(opened.filter(solution_lot__solution="NaCl").order_by("solution_lot", "pk"))
    bottles = [
        opened.filter(solution_lot__solution="Mg(NO3)2").earliest("pk"),
        salt[-1 if second else 0],
    ]
    typed: dict[str, Any] = {"instrument": instrument.scan_code, "kind": "opening", "method_version": _method()}
    for row, bottle in enumerate(bottles, 1):
        a_w = float(reference_value(bottle.solution_lot.solution, 25.0).a_w) + off
        typed |= {f"bottle_{row}": bottle.scan_code, f"temperature_c_{row}": "25.0", f"a_w_{row}": f"{a_w:.4f}"}
        typed[f"read_at_{row}"] = ""
    return Act("check_recorded", "check_new", (), ANALYST, {**typed, "note": words("After a failed check", 300)})


def _cleaning(instrument: Instrument, words: Words) -> Act:
    typed = {"instrument": instrument.scan_code, "what": words("Chamber, rim and seal", 300), "at": ""}
    return Act("cleaning_logged", "cleaning_new", (), ANALYST, typed)


def _failed_and_adjusted(instrument: Instrument, words: Words) -> Iterator[Act]:
    """Every careful step, then the adjustment, then the check as left."""
    yield _check(instrument, LOW, words)
    failed = Check.objects.filter(instrument=instrument).latest("pk")
    bottle = failed.readings.latest("pk").bottle.scan_code
    yield Act("fresh_portion_logged", "fresh_portion", (failed.pk,), ANALYST, {"bottle": bottle, "at": ""})
    yield _check(instrument, LOW, words)
    yield _cleaning(instrument, words)
    yield _check(instrument, LOW, words)
    yield _check(instrument, LOW, words, second=True)
    adjusted = {
        "kind": "adjustment",
        "as_found": Check.objects.filter(instrument=instrument).latest("pk").pk,
        "what": words("Zero and span, by the maker's instruction", 300),
        "done_by": words("M. Farrow", 120),
        "reason": words("Reads low on two lots after cleaning", 300),
        "certificate": words("none", 120),
        "at": "",
        "reference_1": words("NaCl, own reading of the service", 60),
        "as_found_1": "0.7411",
        "as_left_1": "0.7531",
    }
    yield Act("instrument_adjusted", "adjustment_new", (instrument.pk,), MANAGER, adjusted)
    yield _check(instrument, 0.0005, words)


def _corrected(instrument: Instrument, password: str, words: Words) -> Iterator[Act]:
    """Cleaned, checked, slightly low: corrected within the caps of the method."""
    yield _cleaning(instrument, words)
    yield _check(instrument, SLIGHTLY, words)
    check = Check.objects.filter(instrument=instrument).latest("pk")
    caps = {"offset": "0.015", "slope": "0.04", "walk": "0.016", "reason": words("Service is two days away", 300)}
    yield Act("correction_caps_set", "correction_caps", (check.method_version.method_id,), MANAGER, caps)
    typed = {"check": check.pk, "reason": words("No service before Monday", 300), "password": password}
    yield Act("correction_started", "correction_new", (instrument.pk,), MANAGER, typed)

"""A shift as it is posted: start, checks, samples, runs, keyings, import, labels, a reading for the line."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from tests.site.acts import Act, Words

from isohume.foundation.solutions import reference_value
from isohume.outlets.site.bench.models import ColumnMapping, Lot, Portion, Run, Sample
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, Product

ANALYST, MANAGER = "rhale", "mfarrow"
SOFT_BAR = "Soft oat bar"


def bench_acts(words: Words) -> Iterator[Act]:
    """The whole shift."""
    yield from _opened(words)
    yield from _voided_check(words)
    yield from _taken_in(words)
    yield from _read(words)
    yield from _second_lot(words)
    yield from _imported(words)
    yield from _around(words)


def _opened(words: Words) -> Iterator[Act]:
    """Cleaned, started, checked."""
    cleaned = {"instrument": "OW-1", "what": words("Chamber and rim wiped with water, dried", 300), "at": ""}
    yield Act("cleaning_logged", "cleaning_new", (), ANALYST, cleaned)
    for name in ("OW-1", "OW-2"):
        yield Act("start_sheet_filled", "start_sheet", (), ANALYST, _start(name))
        yield Act("check_recorded", "check_new", (), ANALYST, _check(name, words))


def _voided_check(words: Words) -> Iterator[Act]:
    last = Check.objects.filter(instrument__name="OW-2").latest("pk").pk
    yield Act("check_voided", "check_void", (last,), MANAGER, {"reason": words("The wrong bottle was read", 300)})
    yield Act("check_recorded", "check_new", (), ANALYST, _check("OW-2", words))


def _method() -> int:
    return int(MethodVersion.objects.filter(method__products__name=SOFT_BAR).latest("pk").pk)


def _start(instrument: str) -> dict[str, Any]:
    return {
        "instrument": instrument,
        "method_version": _method(),
        "room_temperature_c": "21.4",
        "room_rh_percent": "45",
        "warmed_up_since": (timezone.now() - timedelta(hours=2)).isoformat(),
        "block_temperature_c": "25.0",
    }


def _check(instrument: str, words: Words) -> dict[str, Any]:
    """Every reference of the plant, read where it should be."""
    note = words("Read before the first lot", 300)
    typed: dict[str, Any] = {"instrument": instrument, "kind": "opening", "method_version": _method(), "note": note}
    bottles = Bottle.objects.filter(opened_at__isnull=False, discarded_at=None).order_by("pk")
    for row, bottle in enumerate(bottles, 1):
        a_w = float(reference_value(bottle.solution_lot.solution, 25.0).a_w)
        typed |= {f"bottle_{row}": bottle.scan_code, f"temperature_c_{row}": "25.0", f"a_w_{row}": f"{a_w:.4f}"}
        typed[f"read_at_{row}"] = ""
    return typed


def _taken_in(words: Words) -> Iterator[Act]:
    """A lot, a sample with two cups, a third cup that is spilled."""
    product = Product.objects.get(name=SOFT_BAR).pk
    lot = {
        "product": product,
        "code": words("SB-late-1", 60),
        "produced_on": "",
        "received_at": "",
        "description": words("Rework of the morning", 200),
        "customer": words("Own shop", 120),
    }
    yield Act("lot_received", "lot_new", (), ANALYST, lot)
    sample = {
        "lot": Lot.objects.latest("pk").code,
        "position": words("line 1, end of the run", 120),
        "component": "whole bar",
        "sealed": "yes",
        "code": words("S1", 60),
        "temperature_c": "24.9",
        "received_at": "",
        "reason": words("taken after the stop", 1000),
        "portions": "2",
        "cover": "lidded",
    }
    yield Act("sample_received", "sample_new", (), ANALYST, sample)
    third = {"code": words("C", 20), "cover": "open", "temperature_c": "24.8", "prepared_at": ""}
    prepared = {**third, "reason": words("one more to be sure", 1000)}
    yield Act("portion_prepared", "sample", (Sample.objects.latest("pk").pk,), ANALYST, prepared)
    cup = Portion.objects.latest("pk").pk
    yield Act("portion_covered", "portion_act", (cup, "cover"), ANALYST, {"cover": "lidded", "covered_at": ""})
    yield Act("temperature_taken", "portion_act", (cup, "temperature"), ANALYST, {"temperature_c": "24.9"})
    yield Act("temperature_taken", "tempering_row", (cup,), ANALYST, {"temperature_c": "25.0"})
    spilled = {"reason": words("Tipped over on the tray", 300)}
    yield Act("portion_discarded", "portion_act", (cup, "discard"), ANALYST, spilled)


def run_of(instrument: str, a_w: str, words: Words) -> dict[str, Any]:
    """What is typed into a row of the shift."""
    return {
        "instrument": Instrument.objects.get(name=instrument).pk,
        "a_w": a_w,
        "sample_temperature_c": "25.1",
        "block_temperature_c": "25.0",
        "read_at": "",
        "override_reason": words("read at once for the line", 1000),
        "instrument_number": words(f"No. {_next_number()}", 40),
        "reason": words("late lot", 1000),
    }


def _next_number() -> int:
    """The instrument counts on; a correction bears the number of what it corrects."""
    return 1 + Run.objects.filter(corrects=None).exclude(instrument_number="").count()


def _read(words: Words) -> Iterator[Act]:
    """Two cups read and keyed twice."""
    cups = Portion.objects.filter(sample=Sample.objects.latest("pk"), discarded_reason="").order_by("pk")
    for cup, a_w in zip(list(cups), ("0.6310", "0.6322"), strict=True):
        yield Act("run_recorded", "shift_row", (cup.pk,), ANALYST, run_of("OW-1", a_w, words))
        run = Run.objects.latest("pk").pk
        yield Act("run_keyed_second", "second_keying_row", (run,), MANAGER, {"a_w": a_w})


def _second_lot(words: Words) -> Iterator[Act]:
    """A lot with a slip of the pen and a void run."""
    lot = {"product": Product.objects.get(name=SOFT_BAR).pk, "code": words("SB-late-2", 60)}
    yield Act("lot_received", "lot_new", (), ANALYST, lot)
    sample = {"lot": Lot.objects.latest("pk").code, "position": words("line 2", 120), "sealed": "no", "portions": "2"}
    yield Act("sample_received", "sample_new", (), ANALYST, {**sample, "component": "whole bar", "cover": "lidded"})
    first, second = Portion.objects.filter(sample=Sample.objects.latest("pk")).order_by("pk")
    yield Act("run_recorded", "shift_row", (first.pk,), ANALYST, run_of("OW-1", "0.6180", words))
    slip = {"a_w": "0.6810", "reason": words("Digits swapped against the print-out", 300)}
    yield Act("run_corrected", "run_act", (Run.objects.latest("pk").pk, "correct"), ANALYST, slip)
    yield Act("run_recorded", "shift_row", (second.pk,), ANALYST, run_of("OW-1", "0.6650", words))
    cause = {"reason": words("Condensation on the block", 1000)}
    yield Act("run_voided", "run_act", (Run.objects.latest("pk").pk, "void"), MANAGER, cause)


def _imported(words: Words) -> Iterator[Act]:
    """A file with its own headings: first a mapping is saved, then it is imported."""
    lot = {"product": Product.objects.get(name=SOFT_BAR).pk, "code": words("SB-late-3", 60)}
    yield Act("lot_received", "lot_new", (), ANALYST, lot)
    code = Lot.objects.latest("pk").code
    sample = {"lot": code, "position": words("line 3", 120), "sealed": "no", "component": "whole bar", "portions": "2"}
    yield Act("sample_received", "sample_new", (), ANALYST, {**sample, "cover": "lidded"})
    cups = Portion.objects.filter(sample=Sample.objects.latest("pk")).order_by("pk")
    heading, at = words("value", 100), timezone.now().isoformat()
    rows = [f"portion,{_quoted(heading)},read_at,sample_temperature_c,block_temperature_c"]
    rows += [f"{cup.scan_code},{a_w},{at},25.1,25.0" for cup, a_w in zip(cups, ("0.6301", "0.6309"), strict=True)]
    name, content = words("late-lots.csv", 30).replace("</b>", ""), "\n".join([*rows, ""]).encode()
    name = name if name.endswith(".csv") else f"{name}.csv"
    chosen = {"instrument": Instrument.objects.get(name="OW-1").pk, "lot": code}
    mapped = {"act": "map", "name_of_mapping": words("export of OW-1", 80), "columns_a_w": heading, **chosen}
    yield Act("mapping_saved", "import_runs", (), ANALYST, {**mapped, "file": SimpleUploadedFile(name, content)})
    taken = {"act": "import", "mapping": ColumnMapping.objects.latest("pk").pk, **chosen}
    yield Act("runs_imported", "import_runs", (), ANALYST, {**taken, "file": SimpleUploadedFile(name, content)})


def _quoted(text: str) -> str:
    doubled = text.replace('"', '""')
    return f'"{doubled}"'


def _around(words: Words) -> Iterator[Act]:
    """Labels, a reading for the line, the note for the next shift."""
    sample = Sample.objects.latest("pk")
    codes = [f"iso:s:{sample.pk}"]
    labels = {"codes": codes, "paper": "a4"}
    yield Act("labels_printed", "labels", (), ANALYST, labels, {"sample": str(sample.pk)})
    line = {
        "product": Product.objects.get(name=SOFT_BAR).pk,
        "instrument": Instrument.objects.get(name="OW-1").pk,
        "where": words("cooling tunnel, end", 120),
        "a_w": "0.644",
        "target_low": "0.625",
        "target_high": "0.640",
        "read_at": "",
    }
    yield Act("in_process_read", "in_process", (), ANALYST, line)
    note = {"text": words("Two late lots wait for their judgement", 1000)}
    yield Act("hand_over_written", "hand_over_new", (), ANALYST, note)

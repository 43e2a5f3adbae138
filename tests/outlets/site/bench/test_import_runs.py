"""Importing runs: the same rules row by row, all or none, the raw file kept, the same content never twice."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import pytest
import xlsxwriter
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from tests.outlets.site import make
from tests.outlets.site.bench.shift import Shift, make_shift, words

from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.import_runs import ImportRuns, RowsRefused, preview
from isohume.outlets.site.bench.actions.record_run import RecordRun
from isohume.outlets.site.bench.actions.save_mapping import SaveMapping
from isohume.outlets.site.bench.history import LATEST_RUNS, plausibility
from isohume.outlets.site.bench.models import ColumnMapping, ImportedFile, Run
from isohume.outlets.site.config.upload import LARGEST_BYTES
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of

HEADER = "lot,sample,portion,a_w,read_at,sample_temperature_c,block_temperature_c,run,instrument"
ROWS = (
    "SB-0916-03,1,A,0.6320,2026-09-16T09:40,25.0,25.0,201,OW-1",
    "SB-0916-03,1,B,0.6331,2026-09-16T09:46,25.1,25.0,202,OW-1-0417",
    "sb-0916-03,1,a,0.6325,2026-09-16T09:52,25.0,25.0,203,OW-1",
)


@pytest.fixture
def shift(site_db: Path) -> Shift:
    shift = make_shift()
    shift.sample(portions=2)
    return shift


def csv(*rows: str, header: str = HEADER) -> bytes:
    return "\n".join((header, *rows, "")).encode()


def bring(shift: Shift, content: bytes, name: str = "ow1.csv", **more: object) -> ImportedFile:
    return perform(ImportRuns(shift.bench.site, name, content, **more), shift.by())


def test_a_file_brings_its_runs_and_is_kept_byte_for_byte(shift: Shift) -> None:
    content = csv(*ROWS)
    imported = bring(shift, content)
    runs = list(Run.objects.order_by("pk"))
    assert [(run.a_w, run.portion.code, run.instrument_number, run.imported_row) for run in runs] == [
        ("0.6320", "A", "201", 2),
        ("0.6331", "B", "202", 3),
        ("0.6325", "A", "203", 4),
    ]
    assert not any(run.typed for run in runs)
    assert imported.sha256 == hashlib.sha256(content).hexdigest()
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, body FROM file WHERE sha256 = %s", [imported.sha256])
        assert cursor.fetchone() == ("ow1.csv", content)
    assert trail_of(imported.ref)[-1].details["rows"] == 3
    assert "re-read" in trail_of(runs[2].ref)[-1].details["read"]


def test_the_ledger_still_verifies_after_imports_and_refused_ones(shift: Shift, site_db: Path) -> None:
    with pytest.raises(RowsRefused):
        bring(shift, csv(ROWS[0], "SB-0916-03,1,A,63.2,2026-09-16T09:46,25,25,9,OW-1"))
    preview(ImportRuns(shift.bench.site, "ow1.csv", csv(*ROWS)), shift.by())
    bring(shift, csv(*ROWS))
    connection.close()
    found = verify(site_db)
    assert (found.verified, found.first_bad) == (True, None)


def test_the_same_content_is_refused_whatever_it_is_called(shift: Shift) -> None:
    bring(shift, csv(*ROWS))
    with pytest.raises(Refused, match=r"imported before: ow1\.csv, on 2026-09-16 10:00 by Analyst"):
        bring(shift, csv(*ROWS), "other.csv")
    assert Run.objects.count() == 3


def test_one_bad_row_keeps_every_row_out_and_all_are_named(shift: Shift) -> None:
    bad = (
        ROWS[0],
        "SB-0916-03,1,A,63.2,2026-09-16T09:46,25,25,9,OW-1",
        "SB-0916-03,1,C,0.63,2026-09-16T09:46,25,25,10,OW-1",
        "SB-0916-99,1,A,0.63,2026-09-16T09:46,25,25,11,OW-1",
        "SB-0916-03,1,A,0.63,2026-09-16T09:46,25,25,12,OW-9",
        "SB-0916-03,1,B,0.63,,25,25,13,OW-1",
        "SB-0916-03,1,B,0.63,2026-09-16T09:49,28.0,25,14,OW-1",
        "SB-0916-03,1,B,0.63,2026-09-16T09:49,25.0,25,201,OW-1",
    )
    with pytest.raises(RowsRefused) as caught:
        bring(shift, csv(*bad))
    said = {row.row: row.refused for row in caught.value.rows}
    assert said[2] == ""
    expected = {
        3: "percent",
        4: "a cup that was prepared from 1 of SB-0916-03",
        5: "a lot that was received",
        6: "in the register: OW-1",
        7: "when it was read",
        8: "Wait until",
        9: "has not given yet",
    }
    for row, word in expected.items():
        assert word in said[row], said[row]
    assert not Run.objects.exists()
    assert not ImportedFile.objects.exists()


def test_a_preview_shows_what_would_come_and_keeps_nothing(shift: Shift) -> None:
    read = preview(ImportRuns(shift.bench.site, "ow1.csv", csv(*ROWS)), shift.by())
    assert [(row.row, row.kept.run.a_w if row.kept else "", row.refused) for row in read] == [
        (2, "0.6320", ""),
        (3, "0.6331", ""),
        (4, "0.6325", ""),
    ]
    assert not Run.objects.exists()
    bring(shift, csv(*ROWS))  # it is not "the same file twice"


def test_a_saved_mapping_reads_a_files_own_headings(shift: Shift) -> None:
    columns = {"portion": "Cup", "a_w": "Value", "read_at": "Time", "position": "Place"}
    mapping = perform(SaveMapping(shift.bench.site, "Export of OW-1", columns), shift.by())
    content = csv('A,"0,632",2026-09-16T09:40,"line 2, middle"', header="Cup,Value,Time,Place")
    lot = shift.bench.product.lots.get()
    bring(shift, content, mapping=mapping, instrument=shift.bench.instrument, lot=lot)
    assert Run.objects.get().a_w == "0.632"


def test_a_scanned_code_names_the_cup(shift: Shift) -> None:
    lot = shift.bench.product.lots.get()
    cup = lot.samples.get().portions.get(code="B")
    bring(shift, csv(f"{cup.scan_code},0.633,2026-09-16T09:40", header="portion,a_w,read_at"), lot=lot,
          instrument=shift.bench.instrument)  # fmt: skip
    assert Run.objects.get().portion == cup


def test_a_cup_that_two_samples_have_needs_its_sample(shift: Shift) -> None:
    lot = shift.bench.product.lots.get()
    shift.sample(lot, position="line 2, end", portions=1)
    with pytest.raises(Refused, match="which sample: 2 samples"):
        bring(shift, csv("SB-0916-03,A,0.633,2026-09-16T09:40,OW-1", header="lot,portion,a_w,read_at,instrument"))


def test_a_worksheet_is_read_like_a_csv(shift: Shift) -> None:
    made = io.BytesIO()
    with xlsxwriter.Workbook(made, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        for number, row in enumerate((HEADER, *ROWS)):
            sheet.write_row(number, 0, row.split(","))
    bring(shift, made.getvalue(), "ow1.xlsx")
    assert Run.objects.count() == 3


@pytest.mark.parametrize(
    ("name", "content", "field"),
    [
        ("ow1.exe", b"lot\n", "file"),
        ("", b"lot\n", "file"),
        ("ow1.csv", b"", "file"),
        ("ow1.csv", b"lot,portion,a_w\nX,A,0.6\n", "columns"),
        ("ow1.csv", b"\xff\xfelot", "encoding"),
        ("ow1.xlsx", b"not a worksheet", "file"),
        ("../../ow1.csv", b"lot,portion,aw,read_at\nX,A,0.6,2026-09-16T09:40\n", "columns"),
    ],
)
def test_a_file_that_would_have_to_be_guessed_at_is_refused(
    shift: Shift, name: str, content: bytes, field: str
) -> None:
    with pytest.raises(InputError) as caught:
        bring(shift, content, name)
    assert caught.value.field == field


def test_the_file_and_what_is_chosen_for_it_do_not_contradict(shift: Shift) -> None:
    other_lot, other = shift.lot("SB-0916-04"), make.make_instrument(shift.bench.site, "OW-2")
    with pytest.raises(Refused, match="the lot chosen for the file"):
        bring(shift, csv(ROWS[0]), lot=other_lot)
    with pytest.raises(Refused, match="the instrument chosen for the file"):
        bring(shift, csv(ROWS[0]), instrument=other)
    with pytest.raises(Refused, match="belongs to another plant"):
        bring(shift, csv(ROWS[0]), lot=make_shift("three-gate").lot())


def test_roles_and_plants(shift: Shift) -> None:
    with pytest.raises(Refused, match="this is for analyst, manager"):
        perform(ImportRuns(shift.bench.site, "ow1.csv", csv(*ROWS)), shift.by(shift.bench.auditor))
    with pytest.raises(Refused, match="another plant"):
        perform(ImportRuns(make_shift("three-gate").bench.site, "ow1.csv", csv(*ROWS)), shift.by())


def test_an_imported_number_is_not_corrected_by_hand_and_its_number_is_not_typed_again(shift: Shift) -> None:
    bring(shift, csv(*ROWS))
    run = Run.objects.get(instrument_number="202")
    from isohume.outlets.site.bench.actions.correct_run import CorrectRun

    with pytest.raises(Refused, match="was not typed"):
        perform(CorrectRun(run, "0.640", reason="Slip"), shift.by())
    perform(CorrectRun(run, sample_temperature_c="25.3", reason="Slip"), shift.by())
    with pytest.raises(InputError, match="has not given yet"):
        perform(RecordRun(run.portion, run.instrument, "0.633", instrument_number="202"), shift.by())


@pytest.mark.parametrize(
    ("name", "columns", "field"),
    [
        ("", {"a_w": "Value"}, "name_of_mapping"),
        ("Export", {}, "columns_portion"),
        ("Export", {"a_w": "Value", "run": "Value"}, "columns_run"),
        ("Export", {"price": "Value"}, "columns"),
        ("Export", {"a_w": "V\nW"}, "columns_a_w"),
    ],
)
def test_mappings_that_could_not_be_used_are_refused(
    shift: Shift, name: str, columns: dict[str, str], field: str
) -> None:
    with pytest.raises(InputError) as caught:
        perform(SaveMapping(shift.bench.site, name, columns), shift.by())
    assert caught.value.field == field
    assert not ColumnMapping.objects.exists()


def test_a_mappings_name_comes_once(shift: Shift) -> None:
    saved = perform(SaveMapping(shift.bench.site, "Export", {"a_w": "Value", "run": ""}), shift.by())
    assert saved.columns == {"a_w": "Value"}
    assert trail_of(saved.ref)[-1].said == "Saved a mapping of columns"
    with pytest.raises(InputError, match="no mapping has yet"):
        perform(SaveMapping(shift.bench.site, "Export", {"a_w": "Other"}), shift.by())


def test_the_history_is_looked_up_once_a_file(shift: Shift) -> None:
    """And says of each row what it says of a typed run."""
    for number in range(9):
        cup = shift.portion(shift.sample(shift.lot(f"SB-{number}")))
        shift.run(cup, f"0.63{number}")
    rows = [f"SB-0916-03,1,A,0.{632 + number},2026-09-16T09:{10 + number},25,25,{number},OW-1" for number in range(5)]
    with CaptureQueriesContext(connection) as queries:
        bring(shift, csv(*rows, "SB-0916-03,1,B,0.362,2026-09-16T09:46,25.1,25.0,202,OW-1"))
    assert len([q for q in queries if f"LIMIT {LATEST_RUNS}" in q["sql"]]) == 1
    hints = list(Run.objects.exclude(imported=None).order_by("pk").values_list("plausibility", flat=True))
    assert hints[:5] == [""] * 5
    assert "0.362 is not plausible" in hints[5]
    assert hints[5] == plausibility(shift.bench.product.lots.get(code="SB-0916-03").samples.get(), "0.362")


def test_a_file_too_large_is_refused_before_it_is_read(
    client: Client, shift: Shift, monkeypatch: pytest.MonkeyPatch
) -> None:
    client.force_login(shift.analyst, "django.contrib.auth.backends.ModelBackend")

    def never(*_: object) -> bytes:
        raise AssertionError("it was read")

    monkeypatch.setattr("django.core.files.uploadedfile.InMemoryUploadedFile.read", never)
    large = io.BytesIO(b"a,b\n" + b"1,2\n" * 500_000)
    large.name = "large.csv"
    answer = client.post("/import/", {"act": "look", "file": large})
    assert answer.status_code == 422
    assert f"allowed: 1 to {LARGEST_BYTES} bytes" in words(answer)

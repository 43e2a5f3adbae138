"""History from spreadsheets: all rows or none, once; it seeds hints and s_r, never a standing, verdict or release."""

from __future__ import annotations

import ast
import io
import statistics
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from tests.outlets.site.incoming.conftest import Plant
from tests.outlets.site.make import NOW

import isohume.bench
import isohume.outlets.site
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import standings
from isohume.outlets.site.incoming.actions.bring_history import BringHistory, RowsRefused
from isohume.outlets.site.incoming.actions.save_historic_mapping import SaveHistoricMapping
from isohume.outlets.site.incoming.models import HistoricCheck, HistoricFile, HistoricLot
from isohume.outlets.site.incoming.queries import (
    historic_check_deviations,
    historic_drifts,
    historic_duplicates,
    historic_histories,
    historic_repeatability,
)
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.frozen import questions

CHECKS = b"""date,instrument,reference,expected_a_w,a_w,temperature_c
2026-03-02,OW-1,NaCl,0.753,0.751,25.0
2026-03-03,ow-1,"Mg(NO3)2",0.529,0.530,25.1
"""
LOTS = b"""date,product,component,lot,a_w,second_a_w
2026-03-02,Soft oat bar,whole bar,SB-1,0.640,0.642
2026-03-03,soft oat bar,,SB-2,0.631,0.630
2026-03-04,Soft oat bar,whole bar,SB-3,0.650,0.652
"""
ORIGIN = "Bench book 2026, kept by the bench"


def bring(
    plant: Plant, kind: str, content: bytes, name: str = "old.csv", who: str = "boss", **more: Any
) -> HistoricFile:
    """Bring a file."""
    return perform(BringHistory(plant.site, kind, name, content, ORIGIN, **more), plant.by(who))


def many(rows: int) -> bytes:
    """A spreadsheet of past lots."""
    lines = [
        f"2025-{1 + n % 12:02}-{1 + n % 28:02},Soft oat bar,,S{n},0.{620 + n % 25},0.{621 + n % 25}"
        for n in range(rows)
    ]
    return "\n".join(["date,product,component,lot,a_w,second_a_w", *lines]).encode()


def test_past_checks_are_kept_as_they_stand(plant: Plant) -> None:
    kept = bring(plant, "checks", CHECKS)
    assert questions().file(kept.sha256) == CHECKS
    first, second = historic_check_deviations(plant.instrument)
    assert (first.reference, first.temperature_c) == ("NaCl", 25.0)
    assert (first.deviation, second.deviation) == (pytest.approx(-0.002), pytest.approx(0.001))
    (line,) = trail_of(kept.ref)
    assert (line.kind, line.details["standing"], line.details["rows"]) == (
        "history_brought", "historical, unverified", 2,
    )  # fmt: skip


def test_instruments_are_told_by_reference(plant: Plant) -> None:
    """NaCl read 0.002 and 0.004 low: mean -0.003, s = 0.002/sqrt(2)."""
    bring(plant, "checks", CHECKS + b"2026-03-04,OW-1,NaCl,0.753,0.749,25.0\n")
    told = {one.reference: one for one in historic_drifts(plant.site)}
    assert (told["NaCl"].checks, told["NaCl"].mean) == (2, pytest.approx(-0.003))
    assert told["NaCl"].s == pytest.approx(0.00141421, abs=1e-8)
    assert (told["Mg(NO3)2"].checks, told["Mg(NO3)2"].s) == (1, None)
    assert "-0.0030" in plant.client().get(reverse("history")).content.decode()


def test_duplicates_give_s_r(plant: Plant) -> None:
    """Whole bar: differences 0.002 and 0.002: s_r = sqrt(8e-6/4) = 0.00141421; the lot without component is alone."""
    bring(plant, "lots", LOTS)
    assert [one.first for one in historic_duplicates(plant.site)] == [0.640, 0.631, 0.650]
    (one,) = historic_repeatability(plant.site)
    assert (one.product, one.pairs, one.s_r) == ("Soft oat bar (whole bar)", 2, pytest.approx(0.00141421, abs=1e-8))


def test_one_value_a_lot_makes_what_is_usual(plant: Plant) -> None:
    bring(plant, "lots", many(120))
    ((name, usual),) = historic_histories(plant.site)
    values = [0.0005 + (620 + n % 25) / 1000 for n in range(120)]
    assert (name, usual.n) == ("Soft oat bar", 120)
    assert usual.centre == pytest.approx(statistics.median(values))


def test_the_same_file_is_refused_twice(plant: Plant) -> None:
    bring(plant, "lots", LOTS)
    with pytest.raises(Refused, match=r"brought before: old\.csv"):
        bring(plant, "lots", LOTS, name="renamed.csv")
    assert HistoricLot.objects.count() == 3


def test_rows_of_another_file_do_not_count_twice(plant: Plant) -> None:
    bring(plant, "lots", LOTS)
    with pytest.raises(RowsRefused, match=r"in history already: old\.csv, row 2"):
        bring(plant, "lots", LOTS + b"2026-03-05,Soft oat bar,,SB-4,0.633,\n", name="longer.csv")
    bring(plant, "checks", CHECKS)
    with pytest.raises(RowsRefused, match="in history already"):
        bring(plant, "checks", CHECKS + b"2026-03-05,OW-1,NaCl,0.753,0.752,25.0\n", name="more.csv")


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("2026-03-02,Soft oat bar,,SB-9,65.2,", "was ERH in percent meant"),
        ("02/03/2026,Soft oat bar,,SB-9,0.652,", "year first"),
        ("2027-03-02,Soft oat bar,,SB-9,0.652,", "not after today"),
        ("2026-03-02,Oat cake,,SB-9,0.652,", "one of the register: Soft oat bar"),
        ("2026-03-02,Soft oat bar,crumb,SB-9,0.652,", "component: read"),
        ("2026-03-02,Soft oat bar,,,0.652,", "the lot's code"),
        ("2026-03-02,Soft oat bar,,SB-9,0.652,x", "second_a_w"),
    ],
)
def test_one_wrong_row_and_nothing_is_kept(plant: Plant, row: str, said: str) -> None:
    with pytest.raises(RowsRefused) as refused:
        bring(plant, "lots", LOTS + row.encode() + b"\n")
    assert [one.row for one in refused.value.rows if one.refused] == [5]
    assert said in str(refused.value)
    assert not HistoricFile.objects.exists()
    assert not HistoricLot.objects.exists()


def test_a_saved_mapping_reads_another_spreadsheet(plant: Plant) -> None:
    theirs = b"Datum;Loes;Wert 1;Wert 2\n2026-03-02;SB-1;0,640;0,642\n"
    columns = {"date": "Datum", "lot": "Loes", "a_w": "Wert 1", "second_a_w": "Wert 2"}
    mapping = perform(SaveHistoricMapping(plant.site, "lots", "Bench book", columns), plant.by())
    bring(plant, "lots", theirs, mapping=mapping, product=plant.product)
    kept = HistoricLot.objects.get()
    assert (kept.a_w, kept.second_a_w, kept.product) == ("0.640", "0.642", plant.product)
    with pytest.raises(InputError, match="a mapping of checks"):
        bring(plant, "checks", theirs + b"\n", mapping=mapping)
    with pytest.raises(InputError, match="no mapping has yet"):
        perform(SaveHistoricMapping(plant.site, "lots", "Bench book", columns), plant.by())


def test_a_worksheet_with_days_as_days(plant: Plant) -> None:
    body = io.BytesIO()
    with xlsxwriter.Workbook(body, {"in_memory": True}) as book:
        sheet, days = book.add_worksheet(), book.add_format({"num_format": "yyyy-mm-dd"})
        sheet.write_row(0, 0, ["date", "lot", "a_w"])
        sheet.write_datetime(1, 0, date(2026, 3, 2), days)
        sheet.write_row(1, 1, ["SB-1", 0.64])
    bring(plant, "lots", body.getvalue(), name="book.xlsx", product=plant.product)
    kept = HistoricLot.objects.get()
    assert (kept.on.isoformat(), kept.a_w) == ("2026-03-02", "0.64")


def test_only_a_manager_brings_history(plant: Plant) -> None:
    for who in ("hand", "officer", "dev"):
        with pytest.raises(Refused, match="this is for manager"):
            bring(plant, "lots", LOTS, who=who)


def test_500_rows_come_in_two_minutes(plant: Plant, record_property: Callable[[str, object], None]) -> None:
    """Row 68 of the job: looked at and brought, by the page."""
    client, content = plant.client(), many(500)
    begun = time.perf_counter()
    file = SimpleUploadedFile("past.csv", content)
    seen = client.post(reverse("history_new"), {"kind": "lots", "file": file, "act": "preview"})
    assert "500 rows of past.csv may be brought" in seen.content.decode()
    file.seek(0)
    sent = client.post(reverse("history_new"), {"kind": "lots", "file": file, "act": "bring", "origin": ORIGIN})
    took = time.perf_counter() - begun
    record_property("500 rows looked at and brought, s", round(took, 2))
    assert sent.status_code == 302
    assert HistoricLot.objects.count() == 500
    assert took < 60


def test_a_file_with_other_columns_is_mapped_on_its_page(plant: Plant) -> None:
    client = plant.client()
    file = SimpleUploadedFile("theirs.csv", b"Tag,Geraet,Salz,Soll,Ist\n2026-03-02,OW-1,NaCl,0.753,0.751\n")
    asked = client.post(reverse("history_new"), {"kind": "checks", "file": file, "act": "preview"})
    assert asked.status_code == 422
    assert "Say how the spreadsheet calls its columns" in asked.content.decode()
    file.seek(0)
    columns = {"date": "Tag", "instrument": "Geraet", "reference": "Salz", "expected_a_w": "Soll", "a_w": "Ist"}
    typed = {f"columns_{ours}": theirs for ours, theirs in columns.items()}
    mapped = client.post(
        reverse("history_new"), {"kind": "checks", "file": file, "act": "map", "name_of_mapping": "Alt", **typed}
    )
    assert "1 row of theirs.csv may be brought" in mapped.content.decode()


def test_refused_rows_stand_on_the_page(plant: Plant) -> None:
    file = SimpleUploadedFile("past.csv", LOTS + b"2026-03-02,Soft oat bar,,SB-9,65.2,\n")
    for act in ("preview", "bring"):
        file.seek(0)
        sent = plant.client().post(reverse("history_new"), {"kind": "lots", "file": file, "act": act, "origin": ORIGIN})
        assert sent.status_code == 422
        assert "1 of 4 rows are refused; nothing was saved" in sent.content.decode()


def test_every_page_that_shows_it_says_what_it_is(plant: Plant) -> None:
    files = bring(plant, "lots", LOTS), bring(plant, "checks", CHECKS, "checks.csv")
    addresses = [reverse("history"), reverse("history_new"), *(file.get_absolute_url() for file in files)]
    for address in addresses:
        assert "historical, unverified" in plant.client().get(address).content.decode()
    raw = plant.client().get(reverse("historicfile_raw", args=[files[0].pk]))
    assert raw.content == LOTS


def test_no_path_leads_from_history_to_a_standing_a_verdict_or_a_release() -> None:
    """No module that gives standing, judges, freezes or signs names history's tables or questions.

    A budget that a person adopts from history goes by its source: budgets/test_history_seeds.py.
    """
    (site,) = (Path(folder) for folder in isohume.outlets.site.__path__)
    (bench,) = (Path(folder) for folder in isohume.bench.__path__)
    apps = ("checks", "lots", "records", "ledger", "people", "register", "live", "work", "lookback", "adjustments")
    judging = [file for app in apps for file in (site / app).rglob("*.py")] + list(bench.rglob("*.py"))
    assert len(judging) > 150
    for file in judging:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert not any(one.name.lower().startswith("historic") for one in node.names), file
            if isinstance(node, ast.Attribute | ast.Name):
                name = node.attr if isinstance(node, ast.Attribute) else node.id
                assert not name.lower().startswith("historic"), f"{file}: {name}"


def test_history_leaves_standing_as_it_was(plant: Plant) -> None:
    before = [(one.word, one.gate.allowed) for one in standings(plant.site, NOW)]
    bring(plant, "checks", CHECKS)
    assert [(one.word, one.gate.allowed) for one in standings(plant.site, NOW)] == before
    assert not Check.objects.exists()
    assert HistoricCheck.objects.count() == 2

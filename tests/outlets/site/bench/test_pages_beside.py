"""The pages beside the grid: import with its preview, labels, readings for the line."""

from __future__ import annotations

import base64
import re
from pathlib import Path

import pytest
from django.test import Client
from django.utils import timezone
from tests.outlets.site.bench.shift import GOOD, NOW, Shift, make_shift, upload, words
from tests.outlets.site.browse import sign_in

from isohume.outlets.site.bench.models import ColumnMapping, ImportedFile, InProcessReading, Run
from isohume.outlets.site.work.models import Job


@pytest.fixture
def shift(site_db: Path, monkeypatch: pytest.MonkeyPatch) -> Shift:
    shift = make_shift()
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return shift


@pytest.fixture
def at_bench(client: Client, shift: Shift) -> Client:
    sign_in(client, shift.analyst)
    return client


def test_a_file_is_looked_at_and_then_imported(at_bench: Client, shift: Shift) -> None:
    shift.sample(portions=1)
    looked = at_bench.post("/import/", {"file": upload(GOOD), "act": "preview"})
    assert "1 row of ow1.csv may be imported" in words(looked)
    assert not Run.objects.exists()
    carried = {"file_name": "ow1.csv", "content": base64.b64encode(GOOD).decode(), "act": "import"}
    answer = at_bench.post("/import/", carried)
    file = ImportedFile.objects.get()
    assert answer.headers["Location"] == f"/import/{file.pk}/"
    assert file.sha256 in words(at_bench.get(f"/import/{file.pk}/"))
    again = at_bench.post("/import/", carried)
    assert again.status_code == 422
    assert "This file was imported before: ow1.csv" in words(again)


def test_refused_rows_are_named_before_anything_is_imported(at_bench: Client, shift: Shift) -> None:
    shift.sample(portions=1)
    content = GOOD + b"SB-0916-03,B,63.2,2026-09-16T09:40,OW-1\n"
    looked = at_bench.post("/import/", {"file": upload(content), "act": "preview"})
    assert looked.status_code == 422
    assert "1 of 2 rows are refused; nothing is imported" in words(looked)
    assert "a cup that was prepared" in words(looked)


def test_a_file_with_other_headings_gets_its_mapping_on_the_way(at_bench: Client, shift: Shift) -> None:
    shift.sample(portions=1)
    content = b"Batch,Cup,Value,Time\nSB-0916-03,A,0.632,2026-09-16T09:40\n"
    asked = at_bench.post(
        "/import/", {"file": upload(content), "act": "preview", "instrument": shift.bench.instrument.pk}
    )
    assert "Say how the file calls its columns" in words(asked)
    mapped = {
        "file_name": "ow1.csv",
        "content": base64.b64encode(content).decode(),
        "act": "map",
        "name_of_mapping": "Export of OW-1",
        "columns_lot": "Batch",
        "columns_portion": "Cup",
        "columns_a_w": "Value",
        "columns_read_at": "Time",
    }
    looked = at_bench.post("/import/", {**mapped, "instrument": shift.bench.instrument.pk})
    assert "1 row of ow1.csv may be imported" in words(looked)
    saved = ColumnMapping.objects.get()
    bring = {**mapped, "act": "import", "mapping": saved.pk, "instrument": shift.bench.instrument.pk}
    assert at_bench.post("/import/", bring).status_code == 302
    assert Run.objects.get().a_w == "0.632"


@pytest.mark.parametrize("content", ["", "%%%", base64.b64encode(b"").decode()])
def test_a_carried_file_that_is_none_is_refused(at_bench: Client, shift: Shift, content: str) -> None:
    answer = at_bench.post("/import/", {"file_name": "ow1.csv", "content": content, "act": "import"})
    assert answer.status_code == 422
    assert "a CSV or XLSX file that is not empty" in words(answer)


def test_labels_of_a_lot_are_a_job(at_bench: Client, shift: Shift) -> None:
    sample = shift.sample(portions=2)
    page = at_bench.get("/labels/", {"lot": sample.lot.code}).content.decode()
    codes = re.findall(r'name="codes" value="([^"]+)"', page)
    cups = [cup.scan_code for cup in sample.portions.order_by("pk")]
    assert codes == [f"iso:s:{sample.pk}", *cups]
    answer = at_bench.post(f"/labels/?lot={sample.lot.code}", {"codes": cups, "paper": "a4"})
    job = Job.objects.get()
    assert answer.headers["Location"] == f"/jobs/{job.pk}/"
    assert job.kind == "labels"
    assert job.argument["labels"][0] == {
        "code": cups[0],
        "title": "SB-0916-03 / 1 / A",
        "lines": ["Soft oat bar", "line 2, middle", "whole bar"],
    }


@pytest.mark.parametrize(
    "form", [{"paper": "a4"}, {"codes": ["iso:p:999"], "paper": "a4"}, {"codes": "ALL", "paper": "a0"}]
)
def test_labels_that_were_not_offered_are_not_printed(at_bench: Client, shift: Shift, form: dict[str, object]) -> None:
    cup = shift.portion()
    if form.get("codes") == "ALL":
        form = {**form, "codes": [cup.scan_code]}
    assert at_bench.post(f"/labels/?cup={cup.pk}", form).status_code == 422
    assert not Job.objects.exists()


def test_bottles_and_instruments_have_labels_too(at_bench: Client, shift: Shift) -> None:
    page = at_bench.get("/labels/?bench").content.decode()
    assert f"iso:i:{shift.bench.instrument.pk}" in page
    assert "iso:b:" in page
    assert at_bench.get("/labels/").status_code == 200
    assert "allowed: the code of a lot" in words(at_bench.get("/labels/", {"lot": "XX"}))


def test_a_reading_for_the_line_has_its_advice_and_no_certificate(at_bench: Client, shift: Shift) -> None:
    form = {
        "product": shift.bench.product.pk,
        "instrument": shift.bench.instrument.pk,
        "where": "tunnel",
        "a_w": "0.660",
        "target_high": "0.645",
    }
    answer = at_bench.post("/in-process/", form)
    reading = InProcessReading.objects.get()
    assert answer.headers["Location"] == f"/in-process/{reading.pk}/"
    text = words(at_bench.get(f"/in-process/{reading.pk}/"))
    assert "Wetter" in text
    assert "no certificate comes of it" in text
    refused = at_bench.post("/in-process/", {**form, "a_w": "66"})
    assert refused.status_code == 422
    assert "was ERH in percent meant" in words(refused)

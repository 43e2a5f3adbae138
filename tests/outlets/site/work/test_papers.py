"""The papers the worker makes: a certificate of a frozen record, whole, named by the record."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import pymupdf
import pytest

from isohume.bench.record.certification import Certified, certify
from isohume.bench.record.store import open_store
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.work import worker
from isohume.outlets.site.work.models import Job

NOW = datetime(2026, 9, 16, 12, 0, tzinfo=UTC)


@pytest.fixture
def certified(site_db: Path, tmp_path: Path) -> Certified:
    """A frozen record in the site's ledger."""
    for item in files("isohume.outlets.demo").joinpath("harrow_lane").iterdir():
        (tmp_path / item.name).write_bytes(item.read_bytes())
    return certify(tmp_path / "SB-0914-01.toml", site_db, NOW)


def asked(kind: str = "certificate", **argument: Any) -> Job:
    """The job as it is after the worker took it."""
    plant = Site.objects.create(key="harrow-lane", name="Harrow Lane Oat Works")
    ada = Person.objects.create(site=plant, username="ada", printed_name="Ada")
    job = Job.objects.create(site=plant, created_by=ada, kind=kind, argument=argument)
    assert worker.do_next()
    return Job.objects.get(pk=job.pk)


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_a_certificate_is_made_of_the_frozen_record(certified: Certified, site_db: Path, paper: str) -> None:
    job = asked(record=certified.record["id"], paper=paper)
    assert (job.state, job.result, job.message) == ("done", f"papers/{certified.record['id']}.pdf", "")
    with pymupdf.open(site_db / job.result) as pdf:
        text = "".join(page.get_text() for page in pdf)
        width = pdf[0].rect.width
    assert certified.record["lot"]["id"] in text
    assert certified.digest[:12] in text
    assert round(width) == (595 if paper == "a4" else 612)  # ISO 216 A4 210 mm; US Letter 8.5 in; in points
    assert [path.name for path in (site_db / "papers").iterdir()] == [f"{certified.record['id']}.pdf"]


def test_a_signed_record_says_who_signed(certified: Certified, site_db: Path) -> None:
    with open_store(site_db, create=False) as store, store.transaction() as transaction:
        transaction.sign(
            certified.record["id"],
            person="dpell",
            printed_name="Dele Pellingford",
            role="release officer",
            meaning="released",
            act="1",
            of=1,
            statement="Released.",
        )
    job = asked(record=certified.record["id"])
    with pymupdf.open(site_db / job.result) as pdf:
        text = "".join(page.get_text() for page in pdf)
    assert "Dele Pellingford" in text
    assert "Not signed" not in text


def test_labels_are_one_paper(site_db: Path) -> None:
    labels = [{"code": "iso:p:7", "title": "SB-0914-01", "lines": ["B1 / 1"]}]
    job = asked("labels", labels=labels)
    assert (job.state, job.message) == ("done", "")
    with pymupdf.open(site_db / job.result) as pdf:
        assert "SB-0914-01" in pdf[0].get_text()


@pytest.mark.parametrize("record", ["R999999", "", "../secret", "R000001'; --"])
def test_what_is_no_record_fails_by_name(certified: Certified, record: str) -> None:
    job = asked(record=record)
    assert job.state == "failed"
    assert job.message.startswith("record: read ")

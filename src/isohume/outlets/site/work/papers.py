"""Jobs that make papers: certificates of records, and labels."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.conf import settings

from isohume.bench.record.queries import FrozenRecord, Questions
from isohume.bench.record.reading_only import opened_to_read
from isohume.bench.record.signature import Signature
from isohume.bench.record.tables import DATABASE
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.work.handlers import Report, handles

if TYPE_CHECKING:
    from isohume.outlets.site.work.models import Job

PAPERS = "papers"
SAYS = "signatures"
"""In a certificate's job: the ledger numbers of the signatures that its paper shows."""


@handles("certificate")
def certificate(job: Job, report: Report) -> Path:
    """The certificate of a record with its signatures, as PDF."""
    from isohume.outlets.paper.certificate_file import write_certificate

    given = job.argument
    report(5, "Reading the record.")
    record, signatures = _record(str(given.get("record", "")))
    job.argument = {**given, SAYS: [signature.seq for signature in signatures]}
    job.save(update_fields=["argument"])
    report(20, "Setting the pages.")
    paper = str(given.get("paper", "a4"))
    return write_certificate(record.content, record.digest, papers(), paper, signatures)


@handles("labels")
def labels(job: Job, report: Report) -> Path:
    """A sheet of labels for portions and samples, as PDF."""
    from isohume.outlets.paper.labels import write_labels

    given: dict[str, Any] = job.argument
    report(10, "Setting the labels.")
    path = papers() / f"labels-{job.pk}.pdf"
    write_labels(given["labels"], path, str(given.get("paper", "a4")))
    return path


def papers() -> Path:
    """The folder of papers, below the data folder."""
    folder: Path = settings.DATA / PAPERS
    folder.mkdir(exist_ok=True)
    return folder


def _record(record_id: str) -> tuple[FrozenRecord, list[Signature]]:
    with opened_to_read(settings.DATA / DATABASE, with_locks=True) as connection:
        connection.execute("BEGIN")  # record and signatures as of one moment
        ask = Questions(connection)
        found = ask.record(record_id)
        if found is None:
            raise InputError("record", record_id, "the id of a frozen record")
        return found, ask.signatures_of(record_id)

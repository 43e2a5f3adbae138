"""The certificate of a record as it may be served: it shows every signature, and was not withheld since."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.db.models import QuerySet

from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.records.actions.ask_certificate import KIND, reasons_against_certificate
from isohume.outlets.site.work.models import Job
from isohume.outlets.site.work.papers import SAYS


def job_in_hand(record: LotRecord) -> Job | None:
    """The work that is being done on the record's certificate."""
    return _jobs(record).filter(state__in=("queued", "running")).order_by("pk").last()


def certificate_file(record: LotRecord) -> Path | None:
    """The place of a certificate that says all its signatures; None where it is to be made, or may not leave.

    The name comes from the job, below the data folder, never from an address.
    """
    if reasons_against_certificate(record):
        return None
    job = _jobs(record).filter(state="done").order_by("pk").last()
    # by their numbers and not by the clock: a signature's moment is a whole second, and work begins within it
    if job is None or job.argument.get(SAYS) != [s.seq for s in questions().signatures_of(record.record)]:
        return None
    folder = Path(settings.DATA).resolve()
    place = (folder / job.result).resolve()
    return place if place.is_relative_to(folder) and place.is_file() else None


def _jobs(record: LotRecord) -> QuerySet[Job]:
    return Job.objects.filter(site=record.lot.site_id, kind=KIND, argument__record=record.record)

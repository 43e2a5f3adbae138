"""The worker's part of a look-back: its sheet as PDF."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.work.handlers import Report, handles

if TYPE_CHECKING:
    from isohume.outlets.site.work.models import Job

KIND = "look-back"


@handles(KIND)
def look_back_sheet(job: Job, report: Report) -> Path:
    """The sheet of a failed check, from what stands in the tables now."""
    from isohume.outlets.paper.atomic_file import write_whole
    from isohume.outlets.paper.look_back_sheet import look_back_pdf
    from isohume.outlets.site.checks.models import Check
    from isohume.outlets.site.lookback.sheet import sheet_of
    from isohume.outlets.site.work.papers import papers

    related = "instrument__site", "by"
    check = Check.objects.select_related(*related).filter(pk=job.argument.get("check")).first()
    if check is None or check.instrument.site_id != job.site_id:
        raise InputError("check", job.argument.get("check"), "a check of this plant")
    report(10, "Looking back.")
    sheet = sheet_of(check, job.created_at)
    report(60, "Setting the pages.")
    path = papers() / f"look-back-{check.pk}-{job.pk}.pdf"
    return write_whole(path, look_back_pdf(sheet, str(job.argument.get("paper", "a4"))))

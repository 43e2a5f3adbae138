"""The worker's part of a study: fits its points, keeps the result as evidence, and notes it in the ledger."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.utils import timezone

from isohume.bench.record.canonical_form import canonical
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.notes import note
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.studies.words import set_words
from isohume.outlets.site.work.handlers import Report, handles

if TYPE_CHECKING:
    from isohume.outlets.site.studies.models import Study
    from isohume.outlets.site.work.models import Job

KIND = "isotherm"
FOLDER = "studies"


@handles(KIND)
def isotherm(job: Job, report: Report) -> Path:
    """Calculate the study of a job; returns the file of the result, which is also kept as evidence."""
    from isohume.outlets.site.studies.models import Study

    study = Study.objects.select_related("site", "product").filter(pk=job.argument.get("study"), site=job.site).first()
    if study is None:
        raise InputError("study", job.argument.get("study"), "a study of this plant")
    body = canonical(_calculated(study, report))
    report(96, "Keeping the result.")
    _keep(study, body, job)
    place = Path(settings.DATA) / FOLDER / f"study-{study.pk}.json"
    place.parent.mkdir(exist_ok=True)
    place.write_bytes(body)
    return place


def _calculated(study: Study, report: Report) -> dict[str, Any]:
    from isohume.outlets.site.studies.calculation import calculate
    from isohume.outlets.site.studies.points import sets_of
    from isohume.product.sorption.point_file import read_point_rows

    records = read_point_rows([(int(point["row"]), point["cells"]) for point in study.points]).records
    return calculate(sets_of(records, study.direction, study.temperature_c), study.file_sha256, report)


def _keep(study: Study, body: bytes, job: Job) -> None:
    """The result, its digest and its line, in one transaction."""
    digest, now = hashlib.sha256(body).hexdigest(), timezone.now()
    with writing(now) as evidence:
        evidence.keep_file(f"study-{study.pk}-result.json", body)
        study.result, study.result_sha256, study.fitted_at = json.loads(body), digest, now
        study.outcome = [[set_words(one), one["recommended"] or ""] for one in study.sets]
        study.save(update_fields=["result", "result_sha256", "fitted_at", "outcome"])
        chosen = [f"{name}: {model or 'no model'}" for name, model in study.outcome]
        by = job.created_by.printed_name
        note("study_fitted", study.ref, now, by, recommended=chosen, points=study.file_sha256, result=digest)

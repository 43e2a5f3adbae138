"""The frozen record of a lot as stored, its signatures, and whether the site still says the same."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import connection

from isohume.bench.record.queries import FrozenRecord, Questions
from isohume.foundation.quantity.errors import IntegrityError
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lots.evidence_of_lot import check_after, void_check
from isohume.outlets.site.lots.lot_inputs import void_reason
from isohume.outlets.site.lots.models import LotRecord


def questions() -> Questions:
    """Questions to the evidence on Django's own connection: inside a transaction they see what it sees."""
    connection.ensure_connection()
    return Questions(connection.connection)


def frozen(record_id: str) -> FrozenRecord:
    """The record with this id, its digest compared.

    Raises: IntegrityError where it is missing or not what was frozen.
    """
    found = questions().record(record_id)
    if found is None:
        raise IntegrityError(f"record {record_id} is missing; run isohume verify")
    return found


def outdated(record: LotRecord, content: dict[str, Any], runs: tuple[Run, ...]) -> list[str]:
    """Why a record no longer says what the site knows of its lot; none where it does.

    record: the lot's last record. content: its frozen content. runs: every run of the lot, from `runs_of`.
    """
    lot = record.lot
    known = {str(run["run"]): str(run["void_reason"]) for run in content["readings"]}
    present = {str(run.pk): void_reason(run) for run in runs}
    reasons = []
    again = f"Judge lot {lot.code} again."
    if added := sorted(present.keys() - known.keys(), key=int):
        reasons.append(f"Run {', '.join(added)} came after record {record.record}.")
    if changed := sorted((run for run in known if present.get(run) != known[run]), key=int):
        reasons.append(f"Run {', '.join(changed)} was voided or corrected after record {record.record}.")
    reasons += void_check(record.opening_check)
    reasons += _closing_changed(record, content, check_after(tuple(run for run in runs if run.counts) or runs))
    return [f"{reason} {again}" for reason in reasons]


def _closing_changed(record: LotRecord, content: dict[str, Any], closing: Check | None) -> list[str]:
    """A passed closing check may come after a record; a failed one, or a void one, may not be passed over."""
    if closing is not None and not closing.passed and not _speaks_of(content, closing):
        return [f"The check that follows the readings failed after record {record.record} was made."]
    if content["closing_check"] is not None and (closing is None or not _speaks_of(content, closing)):
        return [f"The closing check that record {record.record} rests on does not count any more."]
    return []


def _speaks_of(content: dict[str, Any], closing: Check) -> bool:
    said = content["closing_check"]
    return said is not None and said["at"] is not None and datetime.fromisoformat(said["at"]) == closing.last_read_at

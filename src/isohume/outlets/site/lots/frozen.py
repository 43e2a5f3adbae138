"""The frozen record of a lot as stored, its signatures, and whether the site still says the same."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import connection

from isohume.bench.record.queries import FrozenRecord, Questions
from isohume.foundation.quantity.errors import InputError, IntegrityError
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lots.evidence_of_lot import EvidenceOfLot, check_after, scale_changed, unsound
from isohume.outlets.site.lots.inputs_now import changed_inputs
from isohume.outlets.site.lots.lot_inputs import void_reason
from isohume.outlets.site.lots.models import LotRecord

DECIDED = ("released", "rejected")


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
    again = f"Judge lot {lot.code} again."
    anew = f"Void its runs with that cause, read new portions, and judge lot {lot.code} again."
    reasons = []
    if added := sorted(present.keys() - known.keys(), key=int):
        reasons.append(f"Run {', '.join(added)} came after record {record.record}.")
    if changed := sorted((run for run in known if present.get(run) != known[run]), key=int):
        reasons.append(f"Run {', '.join(changed)} was voided or corrected after record {record.record}.")
    evidence = _evidence_now(record, content, runs)
    faults = [why for check in _checks(evidence) for why in unsound(check)]
    faults += scale_changed(evidence.deciding, evidence.opening)
    reasons += _closing_changed(record, content, evidence.closing)
    if lot.state != "released" and was_signed(record.record, "released"):
        reasons.append(f"Record {record.record} was released, and the lot was held since.")
    # what is decided keeps the register of its day; the bench's own facts above speak against it for ever
    if not reasons and not faults and lot.state not in DECIDED:
        reasons += _inputs_changed(record, content, evidence)
    return [*(f"{fault} {anew}" for fault in faults), *(f"{reason} {again}" for reason in reasons)]


def _evidence_now(record: LotRecord, content: dict[str, Any], runs: tuple[Run, ...]) -> EvidenceOfLot:
    """What the record would be judged from now; a passed closing check that came after it adds nothing to it."""
    deciding = tuple(run for run in runs if run.counts) or runs[-1:]
    closing = check_after(deciding)
    if content["closing_check"] is None and closing is not None and closing.passed:
        closing = None
    return EvidenceOfLot(record.lot, runs, deciding, record.opening_check, closing)


def _checks(evidence: EvidenceOfLot) -> list[Check]:
    """The checks that must be sound; a failed one condemns as it is."""
    closing = evidence.closing
    return [evidence.opening, *([closing] if closing is not None and closing.passed else [])]


def was_signed(record_id: str, meaning: str) -> bool:
    """Whether anybody gave a record this meaning with a signature."""
    return any(signature.meaning == meaning for signature in questions().signatures_of(record_id))


def _inputs_changed(record: LotRecord, content: dict[str, Any], evidence: EvidenceOfLot) -> list[str]:
    """What the bench would judge now where it is not what the record was judged from."""
    try:
        changed = changed_inputs(evidence, content, questions())
    except InputError as error:
        return [f"What the bench knows now cannot be judged: {error}."]
    what = ", ".join(changed)
    return [f"{what[:1].upper()}{what[1:]} changed after record {record.record} was made."] if changed else []


def _closing_changed(record: LotRecord, content: dict[str, Any], closing: Check | None) -> list[str]:
    """A passed closing check may come after a record; a failed one, or a void one, may not be passed over."""
    if closing is not None and not closing.passed and not _speaks_of(content, closing):
        return [f"Check {closing.pk} of {closing.instrument.name} failed, and record {record.record} does not know it."]
    if content["closing_check"] is not None and (closing is None or not _speaks_of(content, closing)):
        return [f"The closing check that record {record.record} rests on does not count any more."]
    return []


def _speaks_of(content: dict[str, Any], closing: Check) -> bool:
    said = content["closing_check"]
    return said is not None and said["at"] is not None and datetime.fromisoformat(said["at"]) == closing.last_read_at

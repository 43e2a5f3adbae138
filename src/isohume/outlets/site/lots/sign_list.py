"""What waits for a signature: the records a person may sign, and the others with the reasons."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.lots.changes import changes_of
from isohume.outlets.site.lots.evidence_of_lot import runs_of
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.queries import may_wait
from isohume.outlets.site.lots.shapes import shape_of_verdict
from isohume.outlets.site.lots.signing_rules import SIGNS, reasons_against, role_for
from isohume.outlets.site.people.models import Person

MOST = 100


@dataclass(frozen=True, slots=True)
class Waiting:
    """One record that waits for a signature."""

    record: LotRecord
    shape: str
    reasons: list[str]
    changes: list[str]

    @property
    def may_sign(self) -> bool:
        """Whether the person may sign it now."""
        return not self.reasons


def waiting_for(person: Person, meaning: str, only: str = "") -> tuple[list[Waiting], list[str]]:
    """The records that wait for this signature, those the person may sign first; or why there is nothing to sign.

    only: the id of one record, asked for although somebody signed it: a second person may; empty for all that wait.
    """
    if role_for(person, meaning) is None:
        return [], [f"Signing {meaning} is for: {' or '.join(role.value for role in SIGNS[meaning])}."]
    asked = may_wait(person.site)
    if meaning == "released":
        asked = asked.filter(lot__state="judged")
    if only:
        asked = asked.filter(record=only)
    found = [_waiting(record, meaning, person) for record in asked[:MOST] if only or not _signed(record, meaning)]
    return sorted(found, key=lambda waiting: not waiting.may_sign), []


def _signed(record: LotRecord, meaning: str) -> bool:
    return any(signature.meaning == meaning for signature in questions().signatures_of(record.record))


def _waiting(record: LotRecord, meaning: str, person: Person) -> Waiting:
    shape = shape_of_verdict(record.verdict, record.disposition, record.lot.state)
    runs = runs_of(record.lot)
    return Waiting(record, shape, reasons_against(record, meaning, person, runs), changes_of(record.lot, runs))

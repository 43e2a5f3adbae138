"""Sign records: one meaning, one password, one record or a reviewed list; all of them or none."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from isohume.bench.record.signature import Signature
from isohume.bench.record.transaction import Transaction
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.writing import stamp, writing
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.signing_rules import MEANINGS, reasons_against, role_for
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.people.roles import MANAGER, RELEASE_OFFICER

MOST_RECORDS = 200
POLICY = (
    "My electronic signature here is the legally binding equivalent of my handwritten one. I give it with my own "
    "password only, tell the password to nobody, and answer for what is signed in my name."
)
STATEMENTS = {
    "reviewed": "I reviewed this record with its readings, void runs, corrections and checks.",
    "approved": "I approve this record.",
    "released": "I release this lot on this record.",
    "rejected": "I reject this lot.",
}


@dataclass
class SignRecords(Action[list[Signature]]):
    """Signs every record of the list with one meaning, after the password was given again."""

    name = "records_signed"
    said = "Signed records"
    roles = frozenset({MANAGER, RELEASE_OFFICER})

    at_site: Site
    records: list[LotRecord]
    meaning: str
    proof: Proof | None
    accepts_policy: bool = False
    rejection_reason: str = ""

    @property
    def site(self) -> Site:
        """The plant of the records."""
        return self.at_site

    def refusals(self, by: By) -> Iterable[str]:
        """No fresh proof, another plant's record, or a rule that one of the records breaks."""
        if self.proof is None or not self.proof.holds_for(by.person, by.at):
            yield "The password was not given again just now, or was wrong: nothing was signed."
            return
        if any(record.lot.site_id != self.at_site.pk for record in self.records):
            yield "This belongs to another plant."
            return
        if self.meaning in MEANINGS:
            for record in self.records:
                record.lot.refresh_from_db(fields=["state"])
                yield from (f"{record.record}: {why}" for why in reasons_against(record, self.meaning, by.person))

    def change(self, by: By) -> Done[list[Signature]]:
        """Sign each record with its own line; lots follow what was signed."""
        reason = self._checked(by)
        accepted = _accept_policy(by, self.accepts_policy)
        records = sorted(self.records, key=lambda record: record.record)
        act = _act(records, self.meaning, by)
        with writing(by.at) as evidence:
            signatures = [self._sign(evidence, record, by, act, reason) for record in records]
        about = [ref for record in records for ref in (record.ref, record.lot.ref)]
        details = {
            "meaning": self.meaning,
            "act": act,
            "records": [record.record for record in records],
            "lots": [record.lot.code for record in records],
            **({"policy": f"accepted: {POLICY}"} if accepted else {}),
        }
        return Done(signatures, records[0].ref, about, details, reason)

    def _checked(self, by: By) -> str:
        if self.meaning not in MEANINGS:
            raise InputError("meaning", self.meaning, f"one of {', '.join(MEANINGS)}")
        if not 0 < len(self.records) <= MOST_RECORDS:
            raise InputError("records", len(self.records), f"1 to {MOST_RECORDS} records")
        if len({record.lot_id for record in self.records}) != len(self.records):
            raise InputError("records", len(self.records), "each lot once")
        reason = read_words(self.rejection_reason, "rejection_reason", 500)
        if self.meaning == "rejected" and not reason:
            raise InputError("rejection_reason", "nothing", "why the lot is rejected")
        if self.meaning != "rejected" and reason:
            raise InputError("rejection_reason", reason, "a reason only where a lot is rejected")
        return reason

    def _sign(self, evidence: Transaction, record: LotRecord, by: By, act: str, reason: str) -> Signature:
        person = by.person
        signature = evidence.sign(
            record.record,
            person=person.username,
            printed_name=person.printed_name,
            role=str(role_for(person, self.meaning)),
            meaning=self.meaning,
            act=act,
            of=len(self.records),
            statement=f"{STATEMENTS[self.meaning]} {reason}".strip(),
        )
        TrailLine.objects.bulk_create(TrailLine(ref=ref, seq=signature.seq) for ref in (record.ref, record.lot.ref))
        if self.meaning in ("released", "rejected"):
            record.lot.state = self.meaning
            record.lot.save(update_fields=["state"])
        return signature


def _accept_policy(by: By, accepts: bool) -> bool:
    """The first signature of a person needs the policy accepted, in the same act; true where it was accepted now."""
    person = Person.objects.get(pk=by.person.pk)
    if person.policy_accepted_at is not None:
        return False
    if not accepts:
        raise InputError("accepts_policy", "nothing", "the policy of electronic signatures accepted, once")
    person.policy_accepted_at = by.at
    person.save(update_fields=["policy_accepted_at"])
    by.person.policy_accepted_at = by.at
    return True


def _act(records: list[LotRecord], meaning: str, by: By) -> str:
    """The name that all signatures of one act share."""
    text = "\n".join((by.person.username, stamp(by.at), meaning, *(record.record for record in records)))
    return hashlib.sha256(text.encode()).hexdigest()[:16]

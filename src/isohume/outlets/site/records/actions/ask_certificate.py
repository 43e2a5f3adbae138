"""Ask for the certificate of a record: the worker sets it, with the signatures it has then."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.state_of_lot import last_record
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.work.models import Job

KIND = "certificate"
PAPER_SIZES = ("a4", "us-letter")


@dataclass
class AskCertificate(Action[Job]):
    """Refused where the paper would say more than the lot may."""

    name = "certificate_asked"
    said = "Asked for a certificate"
    roles = EVERYONE

    record: LotRecord
    paper: str = "a4"

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.record.lot.site

    def refusals(self, by: By) -> list[str]:
        """A superseded record, or a lot on hold whose record says release."""
        return reasons_against_certificate(self.record)

    def change(self, by: By) -> Done[Job]:
        """Queue the work."""
        if self.paper not in PAPER_SIZES:
            raise InputError("paper", self.paper, " or ".join(PAPER_SIZES))
        argument = {"record": self.record.record, "paper": self.paper}
        job = Job.objects.create(site=self.site, kind=KIND, argument=argument, created_by=by.person)
        return Done(job, self.record.ref, [self.record.lot.ref], {"paper": self.paper})


def reasons_against_certificate(record: LotRecord) -> list[str]:
    """Why no certificate of a record may leave; none where it may."""
    record.lot.refresh_from_db(fields=["state"])
    reasons, last = [], last_record(record.lot)
    if last is not None and last.pk != record.pk:
        reasons.append(f"Record {record.record} is superseded by {last.record}: certificates speak of the last record.")
    if record.lot.state == "on hold" and record.disposition == "release":
        reasons.append(f"Lot {record.lot.code} is on hold: a certificate that says release would say too much.")
    return reasons

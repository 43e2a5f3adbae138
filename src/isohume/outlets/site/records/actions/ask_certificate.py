"""Ask for the certificate of a record: the worker sets it, with the signatures it has then."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.checks.lots_of_check import failed_against
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lots.evidence_of_lot import runs_of
from isohume.outlets.site.lots.frozen import frozen, outdated, was_signed
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.state_of_lot import last_record, open_deviations
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
        """A superseded record, or one that says release where the lot is not released on it, or no longer safely."""
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
    # the paper of a record that says hold says so itself; one that says release speaks only of a released lot
    return reasons + (_against_release(record) if record.disposition == "release" else [])


def _against_release(record: LotRecord) -> list[str]:
    """Why a paper that says release would say too much: the release is not given, not on this record, or shaken."""
    lot, reasons = record.lot, []
    if lot.state != "released":
        reasons.append(f"Lot {lot.code} is {lot.state}: a certificate that says release would say too much.")
    elif not was_signed(record.record, "released"):
        reasons.append(f"Record {record.record} is not the one that lot {lot.code} was released on.")
    reasons += [f"Deviation {d.pk} ({d.kind}) of lot {lot.code} is open." for d in open_deviations(lot)]
    runs = runs_of(lot)
    reasons += failed_against(lot, [run for run in runs if run.counts])
    return reasons + outdated(record, frozen(record.record).content, runs)

"""Ask for the sheet of a look-back: the worker sets it as the list stands then."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lookback.jobs import KIND
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.work.models import Job

PAPER_SIZES = ("a4", "us-letter")


@dataclass
class AskSheet(Action[Job]):
    """A paper to walk through the store with."""

    name = "look_back_sheet_asked"
    said = "Asked for the sheet of a look-back"
    roles = EVERYONE

    check: Check
    paper: str = "a4"

    @property
    def site(self) -> Site:
        """The check's plant."""
        return self.check.instrument.site

    def refusals(self, by: By) -> Iterable[str]:
        """A check that looks back on nothing."""
        if self.check.passed or self.check.voided_at is not None:
            yield f"Check {self.check.pk} {'is void' if self.check.voided_at else 'passed'}: it puts no lot at risk."

    def change(self, by: By) -> Done[Job]:
        """Queue the work."""
        if self.paper not in PAPER_SIZES:
            raise InputError("paper", self.paper, " or ".join(PAPER_SIZES))
        argument = {"check": self.check.pk, "paper": self.paper}
        job = Job.objects.create(site=self.site, kind=KIND, argument=argument, created_by=by.person)
        return Done(job, self.check.ref, (), {"paper": self.paper})

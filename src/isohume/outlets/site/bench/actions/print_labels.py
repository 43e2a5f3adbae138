"""Print labels: a sheet of scan codes, set by the worker."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.label_choice import Choice
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.work.models import Job

PAPERS = ("a4", "us-letter")


@dataclass
class PrintLabels(Action[Job]):
    """The sheet is a job; its page waits for the worker."""

    name = "labels_printed"
    said = "Printed labels"
    roles = BENCH

    at_site: Site
    labels: Sequence[Choice]
    paper: str = "a4"

    @property
    def site(self) -> Site:
        """The plant whose things are labelled."""
        return self.at_site

    def change(self, by: By) -> Done[Job]:
        """Queue the sheet."""
        if self.paper not in PAPERS:
            raise InputError("paper", self.paper or "nothing", " or ".join(PAPERS))
        if not self.labels:
            raise InputError("codes", "nothing", "at least one label")
        argument = {"labels": [label.argument for label in self.labels], "paper": self.paper}
        job = Job.objects.create(site=self.at_site, kind="labels", argument=argument, created_by=by.person)
        details = {"labels": len(self.labels), "first": self.labels[0].code, "paper": self.paper}
        return Done(job, f"job:{job.pk}", [self.at_site.ref], details)

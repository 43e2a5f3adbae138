"""Fit a study again: after a failure, or with a newer isohume. What was kept of an earlier fit stays as it is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.studies.actions.add_study import ask_worker
from isohume.outlets.site.studies.models import Study


@dataclass
class FitAgain(Action[Study]):
    """The same points; the result that stands now stays in the evidence."""

    name = "study_fit_asked"
    said = "Asked to fit a study again"
    roles = frozenset({DEVELOPER, MANAGER})

    study: Study

    @property
    def site(self) -> Site:
        """The study's plant."""
        return self.study.site

    def refusals(self, by: By) -> Iterable[str]:
        """While the worker has it in hand."""
        self.study.refresh_from_db(fields=["job"])
        if self.study.job is not None and self.study.job.state in ("queued", "running"):
            yield f"Study {self.study.pk} is being fitted."

    def change(self, by: By) -> Done[Study]:
        """Queue the work."""
        ask_worker(self.study, by)
        return Done(self.study, self.study.ref, [self.study.product.ref], {"result before": self.study.result_sha256})

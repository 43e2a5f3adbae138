"""Adopt a proposed uncertainty budget: it holds from now on, decisions that were made keep theirs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from isohume.outlets.site.budgets.models import BudgetRefresh
from isohume.outlets.site.budgets.proposal import Proposal, propose
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.actions.set_budget import SetBudget
from isohume.outlets.site.register.models import MethodVersion

WHY = "why it is adopted: every decision from now on stands on it"


@dataclass
class AdoptBudget(Action[BudgetRefresh]):
    """The proposal that was looked at, and no other: what came in since must be looked at first."""

    name = "budget_adopted"
    said = "Adopted a proposed budget"
    roles = frozenset({MANAGER})

    method_version: MethodVersion
    digest: str  # of the proposal that was looked at
    reason: str = ""
    _proposal: Proposal | None = field(default=None, init=False, repr=False)

    @property
    def site(self) -> Site:
        """The plant of the method."""
        return self.method_version.method.site

    def refusals(self, by: By) -> Iterable[str]:
        """A replaced version, too little data, another proposal than the one looked at."""
        yield from of_version(self.method_version)
        proposal = self._proposed(by)
        if proposal.deciding is None:
            yield "The plant's own data are not enough for a budget yet."
            yield from proposal.missing
        elif proposal.digest != self.digest:
            yield "Checks or readings came in since this proposal was made: look at the new one first."

    def _proposed(self, by: By) -> Proposal:
        """Made once for an act: it reads a quarter of the bench."""
        if self._proposal is None:
            self._proposal = propose(self.method_version, by.at)
        return self._proposal

    def change(self, by: By) -> Done[BudgetRefresh]:
        """The budget is set as a manager would set it; what it was made of is kept beside it."""
        proposal = self._proposed(by)
        reason = needed_words(self.reason, "reason", 300, WHY)
        present = self.method_version.budget
        budget = perform(
            SetBudget(
                self.method_version,
                "own data",
                u_other=f"{proposal.u_other:f}",
                s_r=f"{proposal.s_r:f}",
                s_position=present.s_position if present else "",
                source=proposal.source,
                reason=reason,
            ),
            by,
        )
        made = BudgetRefresh.objects.create(
            method_version=self.method_version,
            budget=budget,
            content=proposal.as_json(),
            digest=proposal.digest,
            reason=reason,
            at=by.at,
            by=by.person,
        )
        about = [self.method_version.ref, self.method_version.method.ref, budget.ref]
        details = {"u_other": budget.u_other, "s_r": budget.s_r, "source": budget.source, "sha256": made.digest}
        return Done(made, made.ref, about, details, reason)


def of_version(version: MethodVersion) -> Iterable[str]:
    """Why the budget of a version is not refreshed: a later one is in force."""
    current = version.method.current
    if current is not None and current.pk != version.pk:
        yield f"{version} is replaced: {current} is in force."

"""Look at a budget and keep it: the next look is due a quarter from now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.outlets.site.budgets.actions.adopt_budget import of_version
from isohume.outlets.site.budgets.models import BudgetRefresh
from isohume.outlets.site.budgets.proposal import propose
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import MethodVersion


@dataclass
class KeepBudget(Action[BudgetRefresh]):
    """With the proposal as it stood and the reason why it was not adopted."""

    name = "budget_kept"
    said = "Looked at a budget and kept it"
    roles = frozenset({MANAGER})

    method_version: MethodVersion
    reason: str = ""

    @property
    def site(self) -> Site:
        """The plant of the method."""
        return self.method_version.method.site

    def refusals(self, by: By) -> Iterable[str]:
        """A replaced version."""
        return of_version(self.method_version)

    def change(self, by: By) -> Done[BudgetRefresh]:
        """Nothing of the budget changes."""
        proposal = propose(self.method_version, by.at)
        reason = needed_words(self.reason, "reason", 300, "why the present budget is kept")
        made = BudgetRefresh.objects.create(
            method_version=self.method_version,
            content=proposal.as_json(),
            digest=proposal.digest,
            reason=reason,
            at=by.at,
            by=by.person,
        )
        return Done(
            made, made.ref, [self.method_version.ref, self.method_version.method.ref], {"sha256": made.digest}, reason
        )

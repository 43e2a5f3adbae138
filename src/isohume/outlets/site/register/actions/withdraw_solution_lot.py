"""Withdraw a lot of a reference solution: none of its bottles may be used any more."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import SolutionLot


@dataclass
class WithdrawSolutionLot(Action[SolutionLot]):
    """Checks that it was used in stay as they are; the reason stands at the lot."""

    name = "solution_lot_withdrawn"
    said = "Withdrew a reference lot"
    roles = frozenset({MANAGER})

    solution_lot: SolutionLot
    reason: str

    @property
    def site(self) -> Site:
        """The plant that owns it."""
        return self.solution_lot.site

    def refusals(self, by: By) -> list[str]:
        """It is not withdrawn yet."""
        said = self.solution_lot.withdrawn_reason
        return [f"Lot {self.solution_lot.code} is withdrawn already: {said}"] if said else []

    def change(self, by: By) -> Done[SolutionLot]:
        """For good: a solution that was doubted once is made anew."""
        reason = needed_words(self.reason, "reason", 300, "why it must not be used")
        self.solution_lot.withdrawn_reason = reason
        self.solution_lot.save(update_fields=["withdrawn_reason"])
        return Done(
            self.solution_lot, self.solution_lot.ref, [b.ref for b in self.solution_lot.bottles.all()], {}, reason
        )

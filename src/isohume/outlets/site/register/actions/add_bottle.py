"""Add a bottle of a reference lot."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_code, refuse_taken
from isohume.outlets.site.register.models import Bottle, SolutionLot
from isohume.outlets.site.register.queries import reasons_against_lot


@dataclass
class AddBottle(Action[Bottle]):
    """Closed until it is opened; its label holds its scan code."""

    name = "bottle_added"
    said = "Added a bottle"
    roles = frozenset({MANAGER})

    solution_lot: SolutionLot
    code: str

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.solution_lot.site

    def refusals(self, by: By) -> list[str]:
        """Nothing is filled from a lot that may not be used."""
        return reasons_against_lot(self.solution_lot, plant_day(by.at, self.site))

    def change(self, by: By) -> Done[Bottle]:
        """A code once a lot."""
        code = needed_code(self.code, "code", 60, "the bottle's number or code")
        refuse_taken(self.solution_lot.bottles.all(), "code", code, "code", f"of lot {self.solution_lot.code}")
        bottle = Bottle.objects.create(solution_lot=self.solution_lot, code=code)
        return Done(bottle, bottle.ref, [self.solution_lot.ref], {"code": code})

"""Record the moisture of a lot from weights, with the balance's own check."""

from __future__ import annotations

from dataclasses import dataclass, field

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lots.companion_numbers import WEIGHTS, moisture_of
from isohume.outlets.site.lots.models import MoistureDetermination
from isohume.outlets.site.lots.state_of_lot import refuse_ended
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class RecordMoisture(Action[MoistureDetermination]):
    """Weights as typed; what they give is computed where it is shown and judged."""

    name = "moisture_recorded"
    said = "Recorded a moisture determination"
    roles = BENCH

    lot: Lot
    basis: str
    method: str
    dishes: list[dict[str, str]] = field(default_factory=list)
    check_nominal_g: str = ""
    check_read_g: str = ""
    check_limit_g: str = ""
    u_wet_basis: str = ""
    at: str = ""

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.lot.site

    def refusals(self, by: By) -> list[str]:
        """A lot that is released or rejected takes no further number."""
        return refuse_ended(self.lot)

    def change(self, by: By) -> Done[MoistureDetermination]:
        """Keep it; a failed balance check is kept too, and no moisture is stated from it."""
        method = read_words(self.method, "method", 120)
        if not method:
            raise InputError("method", "nothing", "how it was dried, such as oven, 102 degC, 4 h")
        found = MoistureDetermination(
            lot=self.lot,
            basis=self.basis,
            method=method,
            dishes=[{name: _typed(dish.get(name, ""), name) for name in WEIGHTS} for dish in self.dishes],
            check_nominal_g=_typed(self.check_nominal_g, "check_nominal_g"),
            check_read_g=_typed(self.check_read_g, "check_read_g"),
            check_limit_g=_typed(self.check_limit_g, "check_limit_g"),
            u_wet_basis=_typed(self.u_wet_basis, "u_wet_basis"),
            at=event_time(self.at, "at", self.site, by.at),
            by=by.person,
        )
        companion = moisture_of(found)
        found.save()
        details = {
            "basis": found.basis,
            "method": method,
            "dishes": found.dishes,
            "check": [found.check_nominal_g, found.check_read_g, found.check_limit_g],
            "u_wet_basis": found.u_wet_basis,
            "says": companion.text,
        }
        return Done(found, found.ref, [self.lot.ref], details)


def _typed(text: str, name: str) -> str:
    return read_words(text, name, 16)

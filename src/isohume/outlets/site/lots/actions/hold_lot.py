"""Hold a lot: nothing of it leaves until the deviation is closed."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER, RELEASE_OFFICER


@dataclass
class HoldLot(Action[Deviation]):
    """Puts a lot on hold with the reason, whether it was judged or released already."""

    name = "lot_held"
    said = "Put a lot on hold"
    roles = frozenset({ANALYST, MANAGER, RELEASE_OFFICER})

    lot: Lot
    hold_reason: str

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.lot.site

    def refusals(self, by: By) -> list[str]:
        """A rejected lot is held for good already."""
        self.lot.refresh_from_db(fields=["state"])
        return [f"Lot {self.lot.code} is rejected: it goes nowhere."] if self.lot.state == "rejected" else []

    def change(self, by: By) -> Done[Deviation]:
        """Open a deviation "hold" and stop the lot."""
        reason = read_words(self.hold_reason, "hold_reason", 500)
        if not reason:
            raise InputError("hold_reason", "nothing", "why the lot is held")
        before = self.lot.state
        deviation = perform(OpenDeviation(self.site, "hold", reason, lot=self.lot), by)
        self.lot.state = "on hold"
        self.lot.save(update_fields=["state"])
        return Done(deviation, self.lot.ref, [deviation.ref], {"state": [before, "on hold"]}, reason)

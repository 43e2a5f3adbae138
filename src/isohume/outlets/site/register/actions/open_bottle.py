"""Open a bottle: from then on it may be read in checks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.moments import event_time, plant_day
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.actions.fields import read_date
from isohume.outlets.site.register.models import Bottle
from isohume.outlets.site.register.queries import faults_of_lot


@dataclass
class OpenBottle(Action[Bottle]):
    """With the day it is discarded on, at the latest the lot's last day; blank is the lot's last day."""

    name = "bottle_opened"
    said = "Opened a bottle"
    roles = BENCH

    bottle: Bottle
    opened_at: str = ""
    discard_on: str = ""

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.bottle.solution_lot.site

    def refusals(self, by: By) -> list[str]:
        """It is closed, not discarded, and its lot may be used."""
        if self.bottle.discarded_at is not None:
            return [f"Bottle {self.bottle.code} is discarded: {self.bottle.discarded_reason}"]
        if self.bottle.opened_at is not None:
            return [
                f"Bottle {self.bottle.code} is open since {plant_day(self.bottle.opened_at, self.site).isoformat()}."
            ]
        return faults_of_lot(self.bottle.solution_lot)

    def change(self, by: By) -> Done[Bottle]:
        """Opened once; nothing is opened before it was made or after it expired."""
        opened = event_time(self.opened_at, "opened_at", self.site, by.at)
        made, last = self.bottle.solution_lot.made_on, self.bottle.solution_lot.expires_on
        if not made <= plant_day(opened, self.site) <= last:
            allowed = f"a time from the day it was made ({made.isoformat()}) to its last day ({last.isoformat()})"
            raise InputError("opened_at", self.opened_at, allowed)
        self.bottle.opened_at, self.bottle.discard_on = opened, self._discard_on(opened)
        self.bottle.save(update_fields=["opened_at", "discard_on"])
        details = {"opened_at": opened.isoformat(), "discard_on": self.bottle.discard_on.isoformat()}
        return Done(self.bottle, self.bottle.ref, [self.bottle.solution_lot.ref], details)

    def _discard_on(self, opened: datetime) -> date:
        first, last = plant_day(opened, self.site), self.bottle.solution_lot.expires_on
        found = read_date(self.discard_on, "discard_on") if self.discard_on.strip() else last
        if not first <= found <= last:
            allowed = f"a day from {first.isoformat()} to the lot's last day {last.isoformat()}"
            raise InputError("discard_on", self.discard_on, allowed)
        return found

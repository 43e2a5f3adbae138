"""Discard a bottle, with the reason: it is never read again."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Bottle


@dataclass
class DiscardBottle(Action[Bottle]):
    """Open or closed; the checks that it was read in keep it."""

    name = "bottle_discarded"
    said = "Discarded a bottle"
    roles = BENCH

    bottle: Bottle
    reason: str
    discarded_at: str = ""

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.bottle.solution_lot.site

    def refusals(self, by: By) -> list[str]:
        """Once."""
        if self.bottle.discarded_at is None:
            return []
        return [f"Bottle {self.bottle.code} is discarded already: {self.bottle.discarded_reason}"]

    def change(self, by: By) -> Done[Bottle]:
        """Not before it was opened."""
        reason = needed_words(self.reason, "reason", 300, "why it is discarded")
        at = event_time(self.discarded_at, "discarded_at", self.site, by.at)
        if self.bottle.opened_at is not None and at < self.bottle.opened_at:
            raise InputError("discarded_at", self.discarded_at, "a time not before the bottle was opened")
        self.bottle.discarded_at, self.bottle.discarded_reason = at, reason
        self.bottle.save(update_fields=["discarded_at", "discarded_reason"])
        details = {"discarded_at": at.isoformat()}
        return Done(self.bottle, self.bottle.ref, [self.bottle.solution_lot.ref], details, reason)

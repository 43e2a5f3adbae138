"""Discard a cup: spilled, dried out, contaminated. Its runs stay."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class DiscardPortion(Action[Portion]):
    """A cup that will not be read any more, and why; nothing that was read from it is taken back."""

    name = "portion_discarded"
    said = "Discarded a cup"
    roles = BENCH

    portion: Portion
    reason: str

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.portion.sample.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """Once is enough."""
        if self.portion.discarded_reason:
            yield f"Cup {self.portion.code} was discarded before: {self.portion.discarded_reason.rstrip('.')}."

    def change(self, by: By) -> Done[Portion]:
        """It leaves the queues."""
        reason = read_words(self.reason, "reason", 300)
        if not reason:
            raise InputError("reason", "nothing", "why the cup is discarded, such as spilled")
        self.portion.done, self.portion.discarded_reason = True, reason
        self.portion.save(update_fields=["done", "discarded_reason"])
        about = [self.portion.sample.ref, self.portion.sample.lot.ref]
        return Done(self.portion, self.portion.ref, about, {"code": self.portion.code}, reason)

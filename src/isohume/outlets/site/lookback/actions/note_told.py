"""Note that a consignee was told: what was said, who said it, when."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lookback.models import Shipment, Told
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class NoteTold(Action[Told]):
    """isohume tells nobody by itself: a person does, and notes it."""

    name = "consignee_told"
    said = "Told a consignee"
    roles = frozenset({MANAGER, RELEASE_OFFICER})

    shipment: Shipment
    words: str

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.shipment.lot.site

    def change(self, by: By) -> Done[Told]:
        """Write it down."""
        words = needed_words(self.words, "words", 500, "what was said, and to whom")
        told = Told.objects.create(shipment=self.shipment, words=words, at=by.at, by=by.person)
        details = {"consignee": self.shipment.consignee, "words": words}
        return Done(told, self.shipment.lot.ref, (), details)

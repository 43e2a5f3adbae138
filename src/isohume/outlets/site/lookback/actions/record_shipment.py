"""Record that a lot, or part of it, left the house: to whom, how much, when. A fact is recorded whatever its state."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lookback.models import Shipment
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.actions.fields import needed_words, read_past_date


@dataclass
class RecordShipment(Action[Shipment]):
    """What left cannot be held any more: somebody there has to be told."""

    name = "shipment_recorded"
    said = "Recorded a shipment"
    roles = frozenset({MANAGER, RELEASE_OFFICER})

    lot: Lot
    consignee: str
    contact: str
    quantity: str
    shipped_on: str

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.lot.site

    def change(self, by: By) -> Done[Shipment]:
        """Write it down, with the state the lot had."""
        consignee = needed_words(self.consignee, "consignee", 200, "to whom it went, in words")
        contact = read_words(self.contact, "contact", 200)
        quantity = needed_words(self.quantity, "quantity", 80, "how much, with its unit: 40 cases, 12 pallets")
        shipped_on = read_past_date(self.shipped_on, "shipped_on", self.site, by.at)
        shipment = Shipment.objects.create(
            lot=self.lot,
            consignee=consignee,
            contact=contact,
            quantity=quantity,
            shipped_on=shipped_on,
            at=by.at,
            by=by.person,
        )
        details = {
            "consignee": consignee,
            "contact": contact or "not said",
            "quantity": quantity,
            "shipped_on": shipped_on.isoformat(),
            "state of the lot": self.lot.state,
        }
        return Done(shipment, self.lot.ref, (), details)

"""Where a lot is: what was put aside of it, what left the house, and what that means for a lot at risk."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.lookback.models import Retain, Shipment


@dataclass
class Whereabouts:
    """The retained units and the shipments of one lot."""

    lot: Lot
    retains: list[Retain] = field(default_factory=list)
    shipments: list[Shipment] = field(default_factory=list)

    @property
    def status(self) -> str:
        """Shipped or in-house, in words."""
        if not self.shipments:
            return "in-house"
        return "shipped to " + ", ".join(dict.fromkeys(one.consignee for one in self.shipments))

    @property
    def shipped(self) -> bool:
        """Whether something of it left the house."""
        return bool(self.shipments)

    @property
    def left(self) -> int:
        """How many retained units are left."""
        return sum(retain.left for retain in self.retains)

    def retest(self, today: date) -> str:
        """What to test again from, in words."""
        usable = [retain for retain in self.retains if retain.left]
        if not usable:
            return (
                "Nothing retained: take a new sample of the lot."
                if not self.retains
                else ("The retained units are used up: take a new sample of the lot.")
            )
        named = [f"{one.left} at {one.place}{_over(one, today)}" for one in usable]
        return f"Test again from the retained units: {'; '.join(named)}."

    @property
    def to_tell(self) -> list[Shipment]:
        """The shipments nobody was told about yet."""
        return [shipment for shipment in self.shipments if not shipment.told.all()]


def _over(retain: Retain, today: date) -> str:
    return f" (kept until {retain.keep_until.isoformat()}, which is past)" if retain.keep_until < today else ""


def whereabouts_of(lots: Iterable[Lot]) -> dict[int, Whereabouts]:
    """The whereabouts of lots by their keys, in four queries."""
    known = {lot.pk: lot for lot in lots}
    retains: dict[int, list[Retain]] = defaultdict(list)
    for retain in Retain.objects.filter(lot__in=known).prefetch_related("uses__by").select_related("by").order_by("pk"):
        retains[retain.lot_id].append(retain)
    shipments: dict[int, list[Shipment]] = defaultdict(list)
    sent = Shipment.objects.filter(lot__in=known).prefetch_related("told__by").select_related("by")
    for shipment in sent.order_by("shipped_on", "pk"):
        shipments[shipment.lot_id].append(shipment)
    return {pk: Whereabouts(lot, retains[pk], shipments[pk]) for pk, lot in known.items()}

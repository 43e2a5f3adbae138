"""Plant B's first incident: the fan duct of drying room 2 is blocked since cart 7, and composites do not show it.

Cart 9 reads 0.812 as a composite and passes. Its thick pieces at the bottom front read 0.858 to 0.864: the lot is
stratified, and its worst place decides. Carts 7 and 8, made the same way, are held; what was retained of them is read
as lots of their own, since one lot does not stand on the checks of two days.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from isohume.outlets.demo.live.days import Day, hand_over, own_tasks
from isohume.outlets.demo.live.lots import Wanted, judge, read, receive, take
from isohume.outlets.demo.three_gate.plant import INSTRUMENT, RACKS, ZONES, Smokehouse
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.lookback.actions.use_retain import UseRetain
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.strata.actions.save_map import SavePositionMap

WORST, BEST = "rack 12 bottom front", "rack 1 top rear"
THICK = {WORST: ("0.8580", "0.8600", "0.8620", "0.8640"), BEST: ("0.7905", "0.7925")}
RETAINED = {
    6: {WORST: ("0.7930", "0.7946"), BEST: ("0.7902", "0.7911")},
    7: {WORST: ("0.8541", "0.8556"), BEST: ("0.7910", "0.7918")},
    8: {WORST: ("0.8562", "0.8578"), BEST: ("0.7899", "0.7921")},
}
FOUND = "Thick pieces at the bottom front felt soft when the cart was emptied: that place was read too"
NOTE = (
    "Fan duct of drying room 2 found blocked by a fallen casing at 14:40 and cleared. The log of its air flow drops "
    "when cart 7 went in. Carts 7 and 8 are held, cart 9 does not pass. Composites hid it: take rack 12, bottom front."
)


def wet_corner(day: Day, plant: Smokehouse, lots: Sequence[Lot]) -> None:
    """Cart 9 is read by its places; what is left of the carts before it too."""
    cart = lots[1]
    take(day, cart, THICK, day.at(10, 30))
    read(day, INSTRUMENT, [(cart, THICK)], day.at(10, 45))
    judge(day, [cart], day.at(11, 35), FOUND)
    before = {number: _cart(cart, number) for number in RETAINED}
    retained = [_retained(day, plant, number, lot) for number, lot in before.items()]
    read(day, INSTRUMENT, list(zip(retained, RETAINED.values(), strict=True)), day.at(12, 30))
    judge(day, retained, day.at(14, 0))
    _held(day, [before[7], before[8]])
    why = "The fan duct was blocked since cart 7: the bottom front dries last, and a composite hides it"
    perform(SavePositionMap(plant.sticks, RACKS, ZONES, WORST, why), day.by("manager", day.at(14, 50)))
    own_tasks(day, day.at(15))
    hand_over(day, day.at(15, 30), NOTE)


def _cart(last: Lot, number: int) -> Lot:
    """A cart of the same room since it was cleaned."""
    return Lot.objects.filter(site=last.site_id, code__endswith=f"-R2-{number:02}").latest("received_at")


def _retained(day: Day, plant: Smokehouse, number: int, cart: Lot) -> Lot:
    """Retained sticks of a cart, taken as a lot of their own."""
    what_for = "Read by position: is the bottom front of this cart wet too?"
    perform(UseRetain(cart.retains.get(), "4", what_for), day.by("analyst", day.at(12, 2 * number)))
    asked = Wanted(f"{cart.code}-retained", plant.sticks, RETAINED[number])
    return receive(day, asked, day.at(12, 2 * number + 1))


def _held(day: Day, carts: Sequence[Lot]) -> None:
    """Both were released on composites."""
    reason = "Made while the fan duct was blocked: retained sticks from the bottom front are beyond 0.850"
    for k, cart in enumerate(carts):
        perform(HoldLot(cart, reason), day.by("release officer", day.at(14, 20) + timedelta(minutes=k)))

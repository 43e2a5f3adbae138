"""Plant B's third incident: the limit of the chopped-formed stick was cited from an edition of 2004.

isohume does not know which edition of a guide is in force; it keeps where a limit came from, and shows it with the
limit. So the plant says it itself: another version of the specification with the remark, and lots held until it is
settled.
"""

from __future__ import annotations

from isohume.outlets.demo.live.days import Day
from isohume.outlets.demo.three_gate.plant import Smokehouse
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.lots.actions.own_deviation import OwnDeviation
from isohume.outlets.site.register.actions.add_specification import AddSpecification

STALE = (
    "Still cited from the edition of 2004 of the trade guide to dried meat (invented): stale. A later edition is out "
    "and was not read here. Ask the process authority before a lot goes"
)
REASON = "Found at the yearly look at the rules: limit as before, its source is out of date and says so now"
HELD = "The limit 0.880 is cited from an edition of 2004; held until the one in force was read"


def found_stale(day: Day, plant: Smokehouse) -> None:
    """The manager writes it where the limit stands."""
    action = AddSpecification(
        plant.formed, "2", "25.0", "safety", STALE,
        component="whole stick", upper="0.880", expected_a_w="0.86", reason=REASON,
    )  # fmt: skip
    perform(action, day.by("manager", day.at(17, 10)))


def held(day: Day, lot: Lot) -> None:
    """A lot that came under it waits."""
    deviation = perform(HoldLot(lot, HELD), day.by("release officer", day.at(15, 35)))
    by = day.by("release officer", day.at(15, 40))
    perform(OwnDeviation(deviation, day.bench.people["manager"]), by)

"""The bench of plant C: CQ-1 checked and used every day, CQ-2 once a week for the cloves; and a bottle left open.

From a week before the last day on, the second bottle of MgCl2 rises by 0.001 a day; its sibling, read in the same
checks, stays. The ledger of bottles says which of the two it is, and that it is not the instrument.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from isohume.outlets.demo.cardamom_quay.plant import ONE, OTHER, SIBLING, Quay
from isohume.outlets.demo.live.days import Day, check, start
from isohume.outlets.demo.live.lots import Wanted, pair, read, receive
from isohume.outlets.site.bench.models import Lot

LEFT_OPEN, RISES_A_DAY = timedelta(days=7), 0.001


def risen(day: Day) -> float:
    """How much the bottle has risen by now."""
    return RISES_A_DAY * max(0, (day.on - (day.last - LEFT_OPEN)).days)


def checks(day: Day) -> None:
    """CQ-1 every day; at the end of a week CQ-2 as well, and K2CO3 on both."""
    off = {SIBLING: risen(day)}
    weekly = ("K2CO3",) if day.ends_a_week else ()
    start(day, ONE, day.at(6, 30))
    check(day, ONE, day.at(6, 45), ("LiCl", "MgCl2", SIBLING, *weekly, "NaCl"), off)
    if day.ends_a_week:
        start(day, OTHER, day.at(7, 15))
        check(day, OTHER, day.at(7, 20), ("MgCl2", SIBLING, "K2CO3", "NaCl"), off)


def powders(day: Day, quay: Quay) -> list[Lot]:
    """A batch of rub and of fruit powder every day, of soup base every other day."""
    rub, fruit, soup = day.dice.gauss(0.402, 0.007), day.dice.gauss(0.240, 0.008), day.dice.gauss(0.372, 0.009)
    found = [
        Wanted(f"OG-{day.on:%m%d}", quay.rub, {"drum 2, middle": pair(day.dice, rub)}),
        Wanted(f"FD-{day.on:%m%d}", quay.fruit, {"bag 5": pair(day.dice, fruit)}),
    ]
    if day.left % 2:
        found.append(Wanted(f"SB-{day.on:%m%d}", quay.soup, {"mixer outlet": pair(day.dice, soup)}))
    return _lots(day, ONE, found, 8)


def cloves(day: Day, quay: Quay) -> list[Lot]:
    """A drum of cloves at the end of a week, on CQ-2."""
    mean = day.dice.gauss(0.480, 0.004)
    asked = Wanted(f"CL-{day.on:%m%d}", quay.cloves, {"drum 1, top": pair(day.dice, mean)})
    return _lots(day, OTHER, [asked], 11)


def _lots(day: Day, called: str, asked: Sequence[Wanted], hour: int) -> list[Lot]:
    lots = [receive(day, one, day.at(hour) + timedelta(minutes=2 * k)) for k, one in enumerate(asked)]
    read(day, called, [(lot, one.places) for lot, one in zip(lots, asked, strict=True)], day.at(hour, 20))
    return lots

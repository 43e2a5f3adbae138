"""A day of plant B without anything to tell: a check, a cart of each drying room, a batch of chopped-formed sticks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from isohume.outlets.demo.live.days import Day, check, review_week, start
from isohume.outlets.demo.live.lots import Wanted, judge, pair, read, receive, release
from isohume.outlets.demo.three_gate.plant import INSTRUMENT, REFERENCES, Smokehouse
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.lookback.actions.keep_retain import KeepRetain
from isohume.outlets.site.lots.actions.record_ph import RecordPh

CARTS = 10  # a drying room is cleaned after ten carts
COMPOSITE = "composite"
BUFFERS = [{"nominal": "4.01", "read": "4.02", "temperature_c": "25"}, {"nominal": "7.00", "read": "6.99"}]
BLOCKED = {7: ("0.8033", "0.8046"), 8: ("0.8074", "0.8085"), 9: ("0.8115", "0.8125")}
"""What composites of drying room 2 read from cart 7 on, where its fan duct is blocked: still below 0.850."""


def cart_of(day: Day) -> int:
    """The cart's number since the room was cleaned: the last day has cart 10."""
    return (CARTS - 1 - day.left) % CARTS + 1


def code_of(day: Day, room: int, cart: int) -> str:
    """A cart's lot: day, room, cart."""
    return f"ST-{day.on:%m%d}-R{room}-{cart:02}"


def wanted(day: Day, plant: Smokehouse) -> tuple[Wanted, Wanted, Wanted]:
    """The lots of the day: the carts by composites of two portions, the batch from its middle."""
    cart, dice = cart_of(day), day.dice
    one, other, formed = dice.gauss(0.792, 0.004), dice.gauss(0.792, 0.004), min(dice.gauss(0.861, 0.002), 0.865)
    composite = BLOCKED.get(cart) if day.left < CARTS else None
    return (
        Wanted(code_of(day, 1, cart), plant.sticks, {COMPOSITE: pair(dice, one)}),
        Wanted(code_of(day, 2, cart), plant.sticks, {COMPOSITE: composite or pair(dice, other)}),
        Wanted(f"CF-{day.on:%m%d}", plant.formed, {"middle of the batch": pair(dice, formed)}),
    )


def morning(day: Day, plant: Smokehouse) -> list[Lot]:
    """Checked, received, read and judged; signed in the afternoon."""
    start(day, INSTRUMENT, day.at(6, 30))
    check(day, INSTRUMENT, day.at(6, 45), REFERENCES)
    asked = wanted(day, plant)
    lots = [receive(day, one, day.at(7, 30) + timedelta(minutes=2 * k)) for k, one in enumerate(asked)]
    until = (day.on + timedelta(days=60)).isoformat()
    perform(KeepRetain(lots[1], "12", "Retain room, shelf 2", until), day.by("analyst", day.at(7, 50)))
    read(day, INSTRUMENT, [(lot, one.places) for lot, one in zip(lots, asked, strict=True)], day.at(8, 10))
    acid = day.dice.gauss(4.82, 0.03)
    ph = RecordPh(
        lots[2], [f"{acid:.2f}", f"{acid + 0.01:.2f}"], "25", "Glass electrode in a slurry 1 to 9", BUFFERS, "0.05",
        at=day.at(9, 20).isoformat(),
    )  # fmt: skip
    perform(ph, day.by("analyst", day.at(9, 25)))
    judge(day, lots, day.at(9, 30))
    return lots


def afternoon(day: Day, lots: Sequence[Lot]) -> None:
    """What may go is reviewed and released; at the end of a week the room is closed with a check, charts reviewed."""
    if day.ends_a_week:
        check(day, INSTRUMENT, day.at(14, 30), REFERENCES, kind="closing")
    release(day, lots, day.at(16, 0))
    if day.ends_a_week:
        review_week(day, day.at(16, 45))

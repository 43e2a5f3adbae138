"""Plant B lived: its days, its incidents, the sticks that wait today."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from isohume.outlets.demo.live.bench import LiveBench
from isohume.outlets.demo.live.days import DAYS, Day, begun_at, days_of, working_days
from isohume.outlets.demo.live.rounds import Round, report_of
from isohume.outlets.demo.live.waiting import waiting
from isohume.outlets.demo.three_gate.drying_room import wet_corner
from isohume.outlets.demo.three_gate.plant import INSTRUMENT, Smokehouse, make_plant
from isohume.outlets.demo.three_gate.rule_card import found_stale, held
from isohume.outlets.demo.three_gate.usual import afternoon, morning
from isohume.outlets.demo.three_gate.warm_sticks import live_day
from isohume.outlets.site.ledger.writing import writing

SEED, ROUND_DAY, STALE_DAY, WET_DAY = 20260917, 3, 2, 1
ROUND = Round(
    scheme="Water activity of meat products (invented scheme)",
    item="Dried sausage, item 2",
    assigned="0.8440",
    sigma_pt="0.0050",
    result="0.8555",
    u_result="0.0040",
    instrument=INSTRUMENT,
)  # z = (0.8555 - 0.8440)/0.0050 = 2.3


def live(now: datetime, password: str, days: int = DAYS, tell: Callable[[str], None] = lambda _: None) -> LiveBench:
    """Everything before a moment; the last working day is read by instruments that speak."""
    begun, count = begun_at(now, days), len(working_days(now, days))
    with writing(begun):
        plant = make_plant(begun, password)
    for day in days_of(plant.bench, now, days, SEED):
        with writing(day.at(6)):
            live_day(day, plant) if day.left == 0 else _lived(day, plant)
            if day.left == count - ROUND_DAY:
                report_of(day, ROUND)
        tell(f"day {count - day.left} of {count}")
    waiting(plant.bench, plant.sticks, now, ("ST", "rack 7 middle"), warm=True)
    return plant.bench


def _lived(day: Day, plant: Smokehouse) -> None:
    lots = morning(day, plant)
    if day.left == WET_DAY:
        wet_corner(day, plant, lots)
        held(day, lots[2])
    afternoon(day, lots)
    if day.left == STALE_DAY:
        found_stale(day, plant)

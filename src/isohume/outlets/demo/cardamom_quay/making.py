"""Plant C lived: its days, its incidents, the powder that waits today."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from isohume.outlets.demo.cardamom_quay.climbing_cloves import live_day
from isohume.outlets.demo.cardamom_quay.day import lived
from isohume.outlets.demo.cardamom_quay.plant import OTHER, make_plant
from isohume.outlets.demo.live.bench import LiveBench
from isohume.outlets.demo.live.days import DAYS, begun_at, days_of, working_days
from isohume.outlets.demo.live.rounds import Round, report_of
from isohume.outlets.demo.live.waiting import waiting
from isohume.outlets.site.ledger.writing import writing

SEED, ROUND_DAY = 1, 3
ROUND = Round(
    scheme="Water activity of spices (invented scheme)",
    item="Ground paprika, item 1",
    assigned="0.4320",
    sigma_pt="0.0050",
    result="0.4275",
    u_result="0.0032",
    instrument=OTHER,
)  # z = (0.4275 - 0.4320)/0.0050 = -0.9


def live(now: datetime, password: str, days: int = DAYS, tell: Callable[[str], None] = lambda _: None) -> LiveBench:
    """Everything before a moment; the last working day is read by instruments that speak."""
    begun, count = begun_at(now, days), len(working_days(now, days))
    with writing(begun):
        quay = make_plant(begun, password)
    for day in days_of(quay.bench, now, days, SEED):
        with writing(day.at(6)):
            if day.left == 0:
                live_day(day, quay)
            else:
                lived(day, quay)
            if day.left == count - ROUND_DAY:
                report_of(day, ROUND)
        tell(f"day {count - day.left} of {count}")
    waiting(quay.bench, quay.rub, now, ("OG", "drum 2, middle"), warm=False)
    return quay.bench

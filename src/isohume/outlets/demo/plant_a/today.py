"""The morning of today: checked instruments, and samples that wait for whoever signs in."""

from __future__ import annotations

from datetime import datetime, timedelta

from isohume.outlets.demo.plant_a.day import Day, hand_over, open_bench
from isohume.outlets.demo.plant_a.incidents import low_wednesday
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.ledger.actions import By, perform

WARM = {3: "29.5", 5: "31.0"}
POSITIONS = ("line 1, start", "line 1, middle of the run", "line 2, start", "line 2, middle of the run")


def waiting(day: Day, now: datetime, *, fails: bool) -> None:
    """What the bench looks like to a newcomer: standing, six lots in duplicate, two of them warm."""
    if now >= day.at(8, 0):
        low_wednesday(day) if fails else open_bench(day)
    came = now - timedelta(minutes=25)
    for k in range(1, 7):
        by = By(day.analyst, came + timedelta(minutes=k))
        code = f"SB-{day.on:%m%d}-{k + 30}"
        lot = perform(ReceiveLot(day.bench.soft_bar, code, received_at=by.at.isoformat()), by)
        where = POSITIONS[k % len(POSITIONS)]
        sample = ReceiveSample(lot, where, "whole bar", "yes", temperature_c=WARM.get(k, "24.9"), portions=2)
        perform(sample, by)
    note = "Twelve cups wait. Lots 33 and 35 came warm from the line: temper them lidded before reading."
    hand_over(day, now - timedelta(minutes=10), note)

"""Plant C's first incident, on its last day: cloves that climb on one sensor, and what they leave for the next run."""

from __future__ import annotations

from datetime import timedelta

from isohume.outlets.demo.cardamom_quay.bench_work import risen
from isohume.outlets.demo.cardamom_quay.plant import ONE, OTHER, SIBLING, Quay
from isohume.outlets.demo.live.days import Day, hand_over
from isohume.outlets.demo.live.traces import Curve, samples_of
from isohume.outlets.site.bench.actions.discard_portion import DiscardPortion
from isohume.outlets.site.ledger.actions import perform

MGCL2, NACL = 0.3279, 0.7529
CLIMBS = (0.480, 0.498, 0.515, 0.530)  # where each re-read begins to climb from

NOTE = (
    "The cloves did not settle on CQ-1, on CQ-2 they did. MgCl2 read high on CQ-1 after them, and right when it was "
    "read again. Both runs wait for an answer."
)


def live_day(day: Day, quay: Quay) -> None:
    """Both instruments checked, cloves that climb from read to read, MgCl2 that reads high and then right."""
    bench = quay.bench
    bench.now = day.at(7, 0)
    for at, called in enumerate((ONE, OTHER)):
        bench.start(called)
        low, high = samples_of(Curve(0.45, MGCL2), 20 + at), samples_of(Curve(0.5, NACL), 30 + at)
        open_one = samples_of(Curve(0.45, MGCL2 + risen(day)), 70 + at)
        bench.check(called, {"MgCl2": low, SIBLING: open_one, "NaCl": high})
    first, second = bench.cups(quay.cloves, f"CL-{day.on:%m%d}", "drum 3, top", 2)
    for at, ends in enumerate(CLIMBS):
        climbing = Curve(0.40, ends, tau_s=30.0, seconds=600, climb_a_min=0.004)
        run = bench.reads(ONE, first, samples_of(climbing, 40 + at))
        bench.void(run, "volatile", "It climbs and does not settle; the oil of cloves acts on this sensor")
    perform(DiscardPortion(first, "Read four times on CQ-1, each higher than before"), bench.by("analyst"))
    bench.accept(bench.reads(OTHER, second, samples_of(Curve(0.38, 0.4802), 50)))
    for at, a_w in enumerate((0.3410, 0.3290)):
        bench.reads(ONE, bench.bottles["MgCl2"], samples_of(Curve(0.45, a_w), 60 + at))
    hand_over(day, bench.now + timedelta(minutes=5), NOTE)

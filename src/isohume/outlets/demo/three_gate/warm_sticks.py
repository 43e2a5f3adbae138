"""Plant B's second incident, on its last day: sticks that came warm from the smoke, and what their trace says."""

from __future__ import annotations

from datetime import timedelta

from isohume.outlets.demo.live.days import Day
from isohume.outlets.demo.live.traces import Curve, samples_of
from isohume.outlets.demo.three_gate.plant import INSTRUMENT, PREPARED, Smokehouse
from isohume.outlets.demo.three_gate.usual import cart_of, code_of

EXPECTED = {"NaCl": 0.7529, PREPARED: 0.8500, "KNO3": 0.9359}
STICKS = 0.8288
WARM = Curve(STICKS, STICKS, warmer_k=1.432, seconds=600)  # 0.90 at first: 6 % of a_w a kelvin


def live_day(day: Day, plant: Smokehouse) -> None:
    """A check at three references, sticks at 33 degC, the same cup tempered and read again, and its duplicate."""
    bench = plant.bench
    bench.now = day.at(7, 0)
    bench.start(INSTRUMENT)
    bench.check(INSTRUMENT, {name: samples_of(Curve(0.55, a_w), at) for at, (name, a_w) in enumerate(EXPECTED.items())})
    one, other = bench.cups(plant.sticks, code_of(day, 2, cart_of(day)), "rack 7 middle", 2)
    warm = bench.reads(INSTRUMENT, one, samples_of(WARM, 11))
    bench.void(warm, "warm-sample", "Straight from the smoke: 33 degC inside, and 26.4 at the surface")
    bench.now += timedelta(minutes=40)
    for at, cup in enumerate((one, other)):
        bench.accept(bench.reads(INSTRUMENT, cup, samples_of(Curve(0.62, STICKS + 0.0011 * at), 12 + at)))

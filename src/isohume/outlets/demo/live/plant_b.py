"""Plant B, Three Gate Smokehouse (invented): sticks that came warm from the smoke, and what their trace says."""

from __future__ import annotations

from datetime import datetime, timedelta

from isohume.outlets.demo.live.bench import LiveBench, Plant, add_bottle, add_instrument, make_bench
from isohume.outlets.demo.live.traces import Curve, samples_of
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.register.actions.add_product import AddProduct
from isohume.outlets.site.register.actions.add_specification import AddSpecification
from isohume.outlets.site.register.models import Product

PLANT = Plant(
    "Three Gate Smokehouse",
    "Bench by the drying rooms",
    (
        ("nbrack", "Nils Brackwell-Oyo", ("analyst",)),
        ("sthorn", "Sela Thornby", ("manager",)),
        ("pgrail", "Piet Grailing", ("release officer",)),
        ("kwest", "Kari Westerby-Noor", ("administrator",)),
    ),
)
INSTRUMENT = "TG-1"
PREPARED = "NaCl 4.0351"  # 23.58 g in 100 g of water: 0.850 at 25 degC


def live(now: datetime, password: str) -> LiveBench:
    """The day: a check at three references, sticks at 33 degC, the same cup tempered and read again."""
    bench = make_bench(PLANT, now, password)
    add_instrument(bench, INSTRUMENT, "dew-point measurement", surface=True)
    for solution, molality in (("NaCl", ""), ("NaCl", "4.0351"), ("KNO3", "")):
        add_bottle(bench, solution, molality)
    sticks = _product(bench)
    bench.start(INSTRUMENT)
    expected = {"NaCl": 0.7529, PREPARED: 0.8500, "KNO3": 0.9359}
    bench.check(INSTRUMENT, {name: samples_of(Curve(0.55, a_w), at) for at, (name, a_w) in enumerate(expected.items())})
    one, other = bench.cups(sticks, "ST-31", "cart 7, middle zone", 2)
    warm = bench.reads(INSTRUMENT, one, samples_of(Curve(0.8333, 0.8333, warmer_k=1.35, seconds=600), 11))
    bench.void(warm, "warm-sample", "Straight from the smoke: 33 degC inside, and 26.4 at the surface")
    bench.now += timedelta(minutes=40)
    for at, cup in enumerate((one, other)):
        bench.accept(bench.reads(INSTRUMENT, cup, samples_of(Curve(0.62, 0.8288 + 0.0011 * at), 12 + at)))
    return bench


def _product(bench: LiveBench) -> Product:
    site, by = bench.people["manager"].site, bench.by("manager")
    product = perform(
        AddProduct(site, "Air-dried sausage sticks", "soft or filled pieces", bench.method.method, ["whole stick"]), by
    )
    source = "Hazard analysis TG-2 of the plant: critical limit; the operating limit is 0.800"
    limits = {"component": "whole stick", "upper": "0.850", "expected_a_w": "0.81"}
    perform(AddSpecification(product, "1", "25.0", "safety", source, **limits), by)
    return product

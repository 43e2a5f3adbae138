"""Plant C, Cardamom Quay Blends (invented): cloves that climb on one sensor, and what they leave for the next run."""

from __future__ import annotations

from datetime import datetime

from isohume.outlets.demo.live.bench import LiveBench, Plant, add_bottle, add_instrument, make_bench
from isohume.outlets.demo.live.traces import Curve, samples_of
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.register.actions.add_product import AddProduct
from isohume.outlets.site.register.actions.add_specification import AddSpecification
from isohume.outlets.site.register.models import Product

PLANT = Plant(
    "Cardamom Quay Blends",
    "Bench above the mill",
    (
        ("lquill", "Lena Quillfeather", ("analyst",)),
        ("omarsh", "Osei Marshfield", ("manager",)),
        ("tdove", "Tamsin Dovecote-Ray", ("release officer",)),
        ("jpike", "Jory Pikestaff", ("administrator",)),
    ),
)
ONE, OTHER = "CQ-1", "CQ-2"
CLIMBS = (0.480, 0.498, 0.515, 0.530)  # where each re-read begins to climb from


def live(now: datetime, password: str) -> LiveBench:
    """The day: both instruments checked, cloves that climb from read to read, MgCl2 that reads high and then right."""
    bench = make_bench(PLANT, now, password)
    add_instrument(bench, ONE, "polymer permittivity", surface=True)
    add_instrument(bench, OTHER, "dew-point measurement", surface=True)
    for solution in ("MgCl2", "NaCl"):
        add_bottle(bench, solution)
    cloves = _product(bench)
    for at, called in enumerate((ONE, OTHER)):
        bench.start(called)
        low, high = samples_of(Curve(0.45, 0.3279), 20 + at), samples_of(Curve(0.5, 0.7529), 30 + at)
        bench.check(called, {"MgCl2": low, "NaCl": high})
    first, second = bench.cups(cloves, "CL-12", "drum 3, top", 2)
    for at, ends in enumerate(CLIMBS):
        climbing = Curve(0.40, ends, tau_s=30.0, seconds=600, climb_a_min=0.004)
        run = bench.reads(ONE, first, samples_of(climbing, 40 + at))
        bench.void(run, "volatile", "It climbs and does not settle; the oil of cloves acts on this sensor")
    bench.accept(bench.reads(OTHER, second, samples_of(Curve(0.38, 0.4802), 50)))
    for at, a_w in enumerate((0.3410, 0.3290)):
        bench.reads(ONE, bench.bottles["MgCl2"], samples_of(Curve(0.45, a_w), 60 + at))
    return bench


def _product(bench: LiveBench) -> Product:
    site, by = bench.people["manager"].site, bench.by("manager")
    action = AddProduct(site, "Clove powder", "powder or flakes", bench.method.method, ["powder"], ["volatile"])
    product = perform(action, by)
    source = "Product specification CP-1 of the plant: free flowing"
    limits = {"component": "powder", "upper": "0.600", "expected_a_w": "0.48"}
    perform(AddSpecification(product, "1", "25.0", "quality", source, **limits), by)
    return product

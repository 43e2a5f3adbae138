"""Who works at plant C, and what it owns: two meters of different principle, five bottles, four powders."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from isohume.outlets.demo.live.bench import LiveBench, Plant
from isohume.outlets.demo.live.register import add_bottles, add_instrument, add_product, make_bench
from isohume.outlets.site.incoming.actions.set_material_limits import SetMaterialLimits
from isohume.outlets.site.incoming.models import SupplierMaterial
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.register.models import Product

PLANT = Plant(
    "Cardamom Quay Blends",
    "Bench above the mill",
    "0.0025",  # with s_r 0.0020 and two portions: u = 0.003
    (
        ("lquill", "Lena Quillfeather", ("analyst",)),
        ("omarsh", "Osei Marshfield", ("manager",)),
        ("tdove", "Tamsin Dovecote-Ray", ("release officer",)),
        ("jpike", "Jory Pikestaff", ("administrator",)),
    ),
)
ONE, OTHER = "CQ-1", "CQ-2"
SIBLING = "MgCl2, bottle 2"
LIMIT = "0.008"  # of the check: the plant's own choice for powders whose limits are quality limits


@dataclass(frozen=True)
class Quay:
    """What the days are lived with."""

    bench: LiveBench
    rub: Product
    fruit: Product
    cloves: Product
    soup: Product
    onion: SupplierMaterial


def make_plant(begun: datetime, password: str) -> Quay:
    """Register everything, as the manager would."""
    bench = make_bench(PLANT, begun, password)
    add_instrument(bench, ONE, "polymer permittivity", surface=False, check_limit=LIMIT)
    add_instrument(bench, OTHER, "dew-point measurement", surface=True, check_limit=LIMIT)
    for solution, count in (("LiCl", 1), ("MgCl2", 2), ("K2CO3", 1), ("NaCl", 1)):
        add_bottles(bench, solution, count=count)
    by = bench.by("manager")
    limits = SetMaterialLimits(
        by.person.site, "Lowmarsh Farm (invented)", "Onion powder", "Purchase specification OP-2 of the plant",
        moisture_max="7.5", moisture_basis="wet",
    )  # fmt: skip
    onion = perform(limits, by)
    return Quay(bench, *_products(bench), onion)


def _products(bench: LiveBench) -> tuple[Product, Product, Product, Product]:
    form, part = "powder or flakes", "powder"
    rub = add_product(
        bench, "Onion-garlic rub", form, part, upper="0.450", expected_a_w="0.40",
        source="Product specification OG-3 of the plant: free flowing",
    )  # fmt: skip
    fruit = add_product(
        bench, "Fruit drink powder", form, part, upper="0.300", expected_a_w="0.24",
        source="Product specification FD-1 of the plant: amorphous, its glass softens at 30 degC from 0.33 on",
    )  # fmt: skip
    cloves = add_product(
        bench, "Clove powder", form, part, ("volatile",), upper="0.600", expected_a_w="0.48",
        source="Product specification CP-1 of the plant: free flowing",
    )  # fmt: skip
    soup = add_product(
        bench, "Soup base", form, part, upper="0.450", expected_a_w="0.37",
        source="Product specification SB-2 of the plant: salt, sugar and citric acid together deliquesce early",
    )  # fmt: skip
    return rub, fruit, cloves, soup

"""Who works at plant B, and what it owns: one meter, three references, sticks and chopped-formed sticks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from isohume.outlets.demo.live.bench import LiveBench, Plant
from isohume.outlets.demo.live.register import add_bottles, add_instrument, add_product, make_bench
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.strata.actions.save_map import SavePositionMap

PLANT = Plant(
    "Three Gate Smokehouse",
    "Bench by the drying rooms",
    "0.0035",  # with s_r 0.0020 and two portions: u = 0.004
    (
        ("nbrack", "Nils Brackwell-Oyo", ("analyst",)),
        ("sthorn", "Sela Thornby", ("manager",)),
        ("pgrail", "Piet Grailing", ("release officer",)),
        ("kwest", "Kari Westerby-Noor", ("administrator",)),
    ),
)
INSTRUMENT = "TG-1"
PREPARED = "NaCl 4.0351"  # 23.58 g in 100 g of water: 0.850 at 25 degC
REFERENCES = ("NaCl", PREPARED, "KNO3")
RACKS, ZONES = "rack 1 to 12", "top rear, middle, bottom front"
CARD_OF_2004 = "Trade guide to dried meat (invented), edition of 2004, table 3: 0.880 with pH at most 5.0, under vacuum"


@dataclass(frozen=True)
class Smokehouse:
    """What the days are lived with."""

    bench: LiveBench
    sticks: Product
    formed: Product


def make_plant(begun: datetime, password: str) -> Smokehouse:
    """Register everything, as the manager would."""
    bench = make_bench(PLANT, begun, password)
    add_instrument(bench, INSTRUMENT, "dew-point measurement", surface=True)
    for solution, molality in (("NaCl", ""), ("NaCl", "4.0351"), ("KNO3", "")):
        add_bottles(bench, solution, molality)
    sticks = add_product(
        bench, "Air-dried sausage sticks", "soft or filled pieces", "whole stick",
        kind="safety", upper="0.850", expected_a_w="0.80",
        source="Hazard analysis TG-2 of the plant: critical limit; the operating limit is 0.800",
    )  # fmt: skip
    formed = add_product(
        bench, "Chopped-formed stick", "soft or filled pieces", "whole stick",
        kind="safety", upper="0.880", expected_a_w="0.86", pack="vacuum", source=CARD_OF_2004,
    )  # fmt: skip
    why = "A cart has 12 racks of three zones; the fan blows from the rear"
    perform(SavePositionMap(sticks, RACKS, ZONES, "", why), bench.by("manager"))
    return Smokehouse(bench, sticks, formed)

"""Plant B's cart on a bench: racks and zones, a critical limit of 0.850, each place read."""

from __future__ import annotations

from datetime import timedelta

from tests.outlets.site import make
from tests.outlets.site.lots.bench_day import OPENED, Bench, make_bench, make_check, make_portion, make_run

from isohume.outlets.site.bench.models import Lot, Sample
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import DEVELOPER
from isohume.outlets.site.strata.actions.save_map import SavePositionMap
from isohume.outlets.site.strata.actions.save_plan import SaveSamplingPlan
from isohume.outlets.site.strata.models import PositionMap, SamplingPlan

NOW = make.NOW
CRITICAL = {"upper": "0.850", "kind": "safety", "guard": "2", "expected_a_w": "0.800", "source": "Process authority"}
BRACKET = (("NaCl", "0.7535"), ("KNO3", "0.9358"))
SEEING = {"kind": "seeing a wet fraction", "fraction_percent": "10", "confidence_percent": "95", "lot_size": ""}
POINTS = {"aql_percent": "1", "producer_risk_percent": "5", "lq_percent": "6", "consumer_risk_percent": "10"}


def make_cart() -> Bench:
    """A bench whose product has a critical limit, and references on both sides of it."""
    bench = make_bench(**CRITICAL)
    bench.product.name = "Air-dried sausage sticks"
    bench.product.save()
    bench.opening = make_check(
        bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=15), read=BRACKET
    )
    return bench


def read_cart(bench: Bench, code: str, **places: str) -> Lot:
    """A lot with a sample a place; a place's name with _ for a space, its portions read one after the other."""
    lot = Lot.objects.create(
        site=bench.site,
        code=code,
        key=code.casefold(),
        product=bench.product,
        specification=bench.product.specification,
        received_at=NOW - timedelta(hours=4),
        entered_at=NOW - timedelta(hours=4),
        by=bench.analyst,
    )
    minute = 30
    for number, (place, read) in enumerate(places.items(), start=1):
        sample = Sample.objects.create(
            lot=lot,
            code=str(number),
            position=place.replace("_", " "),
            component="whole bar",
            sealed=True,
            received_at=lot.received_at,
            by=bench.analyst,
        )
        for cup, a_w in enumerate(read.split()):
            minute += 1
            make_run(bench, make_portion(bench, sample, f"C{cup}"), a_w, OPENED + timedelta(minutes=minute))
    return lot


def developer_of(bench: Bench) -> Person:
    """A developer of the plant."""
    return make.make_person(bench.site, DEVELOPER, username="developer")


def save_map(bench: Bench, person: Person, worst: str = "rack 12 bottom front, rack 12") -> PositionMap:
    """Twelve racks of three zones."""
    zones = "top rear, middle, bottom front"
    action = SavePositionMap(bench.product, "rack 1 to 12", zones, worst, "the fan blows from the rear")
    return perform(action, By(person, NOW))


def save_plan(bench: Bench, person: Person, **typed: str) -> SamplingPlan:
    """A plan as a developer types it."""
    return perform(SaveSamplingPlan(bench.product, typed or SEEING, "a wet tenth must be seen"), By(person, NOW))

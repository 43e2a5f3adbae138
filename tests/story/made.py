"""What was done before a story begins, made with the site's own actions as its pages make it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

from tests.served import Plant, in_the_site

CHECKED_AND_READ = """
import json
from django.utils import timezone
from isohume.foundation.solutions import reference_value
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.bench.actions.record_run import RecordRun
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, Product
from datetime import timedelta

product, lots, who = json.loads(sys.argv[2])
by = lambda: By(Person.objects.get(username=who), timezone.now())
instrument, method = Instrument.objects.get(name="OW-1"), MethodVersion.objects.get()
on_since = (timezone.now() - timedelta(minutes=45)).isoformat()
perform(FillStartSheet(instrument, method, "21.4", "46", on_since, "25.0"), by())
bottles = Bottle.objects.select_related("solution_lot__site").order_by("pk")
now = timezone.now().isoformat()
readings = [
    {"bottle": b, "temperature_c": "25.0", "a_w": f"{expected:.4f}", "read_at": now}
    for b, expected in ((b, reference_value(b.solution_lot.solution, 25.0).a_w) for b in bottles)
]
perform(RecordCheck(instrument, "opening", method, readings), by())
made = {}
for code, pair in lots.items():
    lot = perform(ReceiveLot(Product.objects.get(name=product), code), by())
    sample = perform(ReceiveSample(lot, "line 1, middle of the run", "", "yes", portions=len(pair)), by())
    related = "sample__lot__product__method", "sample__lot__specification", "sample__lot__site"
    portions = sample.portions.select_related(*related)
    runs = [
        perform(RecordRun(portion, instrument, a_w, "25.1", "25.0"), by()).run.pk
        for portion, a_w in zip(portions.order_by("pk"), pair)
    ]
    made[code] = [lot.pk, *runs]
print(json.dumps(made))
"""


def checked_and_read(
    plant: Plant, lots: Mapping[str, Sequence[str]], product: str = "Soft oat bar", who: str = "rhale"
) -> dict[str, list[int]]:
    """OW-1 started and checked now, whatever the hour, and lots read on it; the keys of each lot and its runs."""
    printed = in_the_site(plant.folder, CHECKED_AND_READ, json.dumps([product, dict(lots), who]))
    found: dict[str, list[int]] = json.loads(printed.splitlines()[-1])
    return found

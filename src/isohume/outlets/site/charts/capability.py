"""The capability of a product from its decided lots: values in time order, indices, interval, conditions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from isohume.foundation.metrology import Capability, process_capability
from isohume.foundation.metrology.capability import FEWEST_LOTS
from isohume.foundation.metrology.charts_by_point import ChartRules, control_chart
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.charts.models import Chart
from isohume.outlets.site.charts.seen import Seen, SeenPoints
from isohume.outlets.site.charts.series import Look
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.register.models import Product, SpecificationVersion

MOST = 50
"""Twice what is needed; of many more some signal by chance, and the level of last year says little."""


@dataclass(frozen=True, slots=True)
class OfProduct:
    """What is known of a product's capability; `found` is None where it cannot be had, `why` says so."""

    spec: SpecificationVersion | None
    look: Look
    found: Capability | None
    why: str

    @property
    def words(self) -> tuple[str, str]:
        """The answer and its mark."""
        if self.found is None:
            return f"Not known: {self.why}", "unknown"
        index = f"P_pk {self.found.p_pk:.2f} ({self.found.low:.2f} to {self.found.high:.2f})"
        if not self.found.usable:
            return f"{index}, not to be used yet", "wait"
        return index, "info"

    @property
    def how(self) -> Mapping[str, Any]:
        """How it was found."""
        interval = self.found.interval if self.found else ""
        return {
            "formula": "P_pk = room from the mean to the nearer limit / (3 s); C_pk: mean moving range / 1.128 for s",
            "inputs": [
                ("Interval", f"95 %, {interval}"),
                ("Lots", "the newest 50 decided lots with a value, also held and rejected"),
            ],
            "range": "a stable process, normal values, 25 lots or more",
            "depends": "the number of lots: with 30 the interval is about a quarter of the index to either side",
            "source": "NISTHandbook, 6.1.6; ISO16269-6; Bissell1990",
        }


def capability_of(product: Product, rules: ChartRules, now: datetime) -> OfProduct:
    """Capability against the specification in force, from the newest 50 decided lots."""
    spec = product.specification
    lots = _lots(product)
    points = SeenPoints.of_rows(Seen(int(r.lot.received_at.timestamp()), r.value or 0.0, r.lot_id) for r in lots)
    chart = Chart(product=product, site=product.site)
    begin = points[0].at if points else now
    judged = ChartRules(rules=rules.rules)
    try:
        control = control_chart(points.value, judged)
        why = ""
    except InputError as error:
        control = None
        why = (
            f"{error.value}."
            if len(points) > 1
            else f"{len(points)} decided lots with a value; {FEWEST_LOTS} are needed."
        )
    look = Look(chart, judged, points, points, control, why, (), (begin, now))
    if spec is None:
        return OfProduct(None, look, None, f"{product.name} has no specification.")
    if control is None:
        return OfProduct(spec, look, None, why)
    limits = [float(text) if text else None for text in (spec.lower, spec.upper)]
    found = process_capability(points.value, limits[0], limits[1], rules=judged)
    return OfProduct(spec, look, found, "")


def _lots(product: Product) -> list[LotRecord]:
    """The newest record of each lot, in the order in which they came to the bench; an estimate is no value at rest."""
    records = LotRecord.objects.filter(lot__product=product, value__isnull=False).select_related("lot")
    newest: dict[int, LotRecord] = {}
    for record in records.order_by("-issued_at", "-pk")[: 3 * MOST]:
        newest.setdefault(record.lot_id, record)
    at_rest = [record for record in newest.values() if not record.estimate]
    return sorted(at_rest[:MOST], key=lambda record: (record.lot.received_at, record.pk))

"""Named questions about supplier lots, and about history: whatever comes of history is historical, unverified.

Nothing here is asked by standing, judging or release. A chart begins with it and a budget may be proposed from it, both
called so; what such a budget judges releases no food-safety limit.
"""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from isohume.bench.reading.plausible import History
from isohume.foundation.metrology.replicates import s_r_from_duplicates
from isohume.outlets.site.incoming.models import (
    HistoricCheck,
    HistoricFile,
    HistoricLot,
    SupplierLot,
    SupplierMaterial,
)
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument

LATEST_HISTORIC = 5_000
LEAST_PAIRS = 2


@dataclass(frozen=True, slots=True)
class HistoricDeviation:
    """A past check's deviation, read less expected; historical, unverified."""

    on: date
    reference: str
    expected_a_w: float
    a_w: float
    temperature_c: float | None
    file: int

    @property
    def deviation(self) -> float:
        """Read less expected [1]."""
        return self.a_w - self.expected_a_w


@dataclass(frozen=True, slots=True)
class HistoricDuplicate:
    """Two portions of one past lot; historical, unverified."""

    on: date
    product: str
    component: str
    first: float
    second: float


@dataclass(frozen=True, slots=True)
class HistoricRepeatability:
    """s_r from past duplicates of a product, over so many pairs; historical, unverified."""

    product: str
    pairs: int
    s_r: float


@dataclass(frozen=True, slots=True)
class HistoricDrift:
    """What an instrument's past checks on one reference deviated by; historical, unverified. s needs two checks."""

    instrument: str
    reference: str
    checks: int
    mean: float
    s: float | None
    first: date
    last: date


def lots_of_suppliers(site: Site) -> QuerySet[SupplierLot]:
    """Every supplier lot of a plant, the newest first."""
    return SupplierLot.objects.filter(site=site).select_related("material", "by", "decided_by", "site").order_by("-pk")


def materials_in_force(site: Site) -> list[SupplierMaterial]:
    """The version in force of every material of every supplier, by supplier and material."""
    newest: dict[str, SupplierMaterial] = {}
    for one in SupplierMaterial.objects.filter(site=site).order_by("pk"):
        newest[one.key] = one
    return sorted(newest.values(), key=lambda one: one.key)


def files_of(site: Site) -> QuerySet[HistoricFile]:
    """The spreadsheets that history was brought from, the newest first."""
    return HistoricFile.objects.filter(site=site).select_related("by", "mapping", "site").order_by("-pk")


def historic_check_deviations(instrument: Instrument) -> list[HistoricDeviation]:
    """Past checks of an instrument, oldest first; to be shown as historical, unverified, and never to give standing."""
    found = HistoricCheck.objects.filter(instrument=instrument).order_by("on", "file_id", "row")
    return [
        HistoricDeviation(
            one.on,
            one.reference,
            float(one.expected_a_w),
            float(one.a_w),
            float(one.temperature_c) if one.temperature_c else None,
            one.file_id,
        )
        for one in found
    ]


def is_reference(typed: str, called: str) -> bool:
    """Whether a spreadsheet's word for a reference is this one; nothing is guessed beyond capitals and spaces.

    called: as checks and charts call it: "NaCl" or "NaCl saturated", "LiCl 8.57 mol/kg".
    """
    one, other = (" ".join(name.casefold().split()).removesuffix(" saturated") for name in (typed, called))
    return one == other


def historic_drifts(site: Site) -> list[HistoricDrift]:
    """Mean and scatter of past checks, each instrument and reference apart; historical, unverified."""
    drifts = []
    for instrument in Instrument.objects.filter(site=site, historic_checks__isnull=False).distinct().order_by("name"):
        by_reference: dict[str, list[HistoricDeviation]] = defaultdict(list)
        for one in historic_check_deviations(instrument):
            by_reference[one.reference].append(one)
        for reference, those in sorted(by_reference.items()):
            found = [one.deviation for one in those]
            s = statistics.stdev(found) if len(found) > 1 else None
            mean = statistics.fmean(found)
            drifts.append(HistoricDrift(instrument.name, reference, len(found), mean, s, those[0].on, those[-1].on))
    return drifts


def historic_duplicates(site: Site) -> list[HistoricDuplicate]:
    """Past pairs of portions, oldest first; to be shown as historical, unverified."""
    found = HistoricLot.objects.filter(file__site=site).exclude(second_a_w="").select_related("product")
    return [
        HistoricDuplicate(one.on, one.product.name, one.component, float(one.a_w), float(one.second_a_w))
        for one in found.order_by("on", "file_id", "row")
    ]


def historic_repeatability(site: Site) -> list[HistoricRepeatability]:
    """s_r of every product from its past duplicates, two pairs or more."""
    pairs: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for one in historic_duplicates(site):
        pairs[_named(one.product, one.component)].append((one.first, one.second))
    return [
        HistoricRepeatability(name, len(those), s_r_from_duplicates(those))
        for name, those in sorted(pairs.items())
        if len(those) >= LEAST_PAIRS
    ]


def historic_values(site: Site, products: Collection[str] | None = None) -> dict[str, list[float]]:
    """One value a past lot by product (and component): what the plausibility hint may know of the time before.

    products: only these, by name; None: all.
    """
    columns = "product__name", "component", "a_w", "second_a_w"
    found = HistoricLot.objects.filter(file__site=site)
    if products is not None:
        found = found.filter(product__name__in=products)
    values: dict[str, list[float]] = defaultdict(list)
    for product, component, a_w, second in found.order_by("-on", "-pk").values_list(*columns)[:LATEST_HISTORIC]:
        value = (float(a_w) + float(second)) / 2 if second else float(a_w)
        values[_named(product, component)].append(value)
    return values


def historic_histories(site: Site) -> list[tuple[str, History]]:
    """Middle and scatter of every product's past lots."""
    return sorted((name, History.of(values)) for name, values in historic_values(site).items())


def _named(product: str, component: str) -> str:
    return f"{product} ({component})" if component else product

"""What the hint at a typed value knows: the product's own lots, rare ones too, and past lots, called unverified."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import pytest
from tests.outlets.site import make
from tests.outlets.site.lots import bench_day
from tests.outlets.site.lots.bench_day import Bench

from isohume.bench.reading.runs import ESTIMATE
from isohume.outlets.site.bench import history
from isohume.outlets.site.bench.history import Known, plausibility
from isohume.outlets.site.bench.models import Lot, Run, Sample
from isohume.outlets.site.incoming.models import HistoricFile, HistoricLot
from isohume.outlets.site.register.models import Product

PAST = tuple(f"0.{n}" for n in (628, 630, 631, 632, 632, 633, 634, 635, 636, 640))


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """The plant."""
    return bench_day.make_bench()


def bring(bench: Bench, values: Sequence[str], component: str = "whole bar") -> None:
    """Past lots of the soft oat bar."""
    at = make.NOW - timedelta(days=1)
    given = {"kind": "lots", "sha256": "0" * 64, "name": "old.csv", "origin": "Bench book", "at": at}
    file = HistoricFile.objects.create(site=bench.site, rows=len(values), by=bench.manager, **given)
    for row, a_w in enumerate(values, 2):
        of = {"product": bench.product, "component": component, "on": date(2025, 3, row), "code": f"OLD-{row}"}
        HistoricLot.objects.create(file=file, row=row, a_w=a_w, **of)


def sample_of(bench: Bench, code: str, *read: str) -> Sample:
    """The sample of a lot with these readings."""
    lot = bench_day.make_lot(bench, code, *read)
    return lot.samples.get()


def test_past_lots_help_a_product_without_lots_of_its_own(bench: Bench) -> None:
    bring(bench, PAST)
    hint = plausibility(sample_of(bench, "SB-1"), "0.681")
    assert hint.startswith("0.681 is not plausible: Soft oat bar (whole bar) usually reads 0.6325")
    assert "10 lots, historical, unverified" in hint
    assert plausibility(Lot.objects.get().samples.get(), "0.634") == ""


def test_an_estimate_is_no_yardstick(bench: Bench) -> None:
    """Eight lots read about 0.632; were the estimates of eight others at 0.700 counted, 0.69 would be told no more."""
    for n in range(8):
        sample_of(bench, f"SB-{n}", f"0.63{n % 5}")
        Run.objects.filter(portion__sample=sample_of(bench, f"EST-{n}", "0.700")).update(stopped=ESTIMATE)
    assert "usually reads 0.6315 (s 0.003, 8 lots)" in plausibility(sample_of(bench, "SB-NEW"), "0.690")


def test_mixed_with_few_of_its_own_it_says_how_many(bench: Bench) -> None:
    bring(bench, PAST)
    sample_of(bench, "SB-1", "0.632", "0.634")
    assert "11 lots, 10 of them historical, unverified" in plausibility(sample_of(bench, "SB-2"), "0.681")


def test_with_enough_lots_of_its_own_the_past_is_silent(bench: Bench) -> None:
    """Past lots read 0.7; eight of its own 0.632: 0.7 is told."""
    bring(bench, [f"0.70{n}" for n in range(9)])
    for number in range(8):
        sample_of(bench, f"SB-{number}", f"0.63{number}")
    hint = plausibility(sample_of(bench, "NOW"), "0.703")
    assert "not plausible" in hint
    assert "unverified" not in hint


def test_past_lots_of_another_component_are_not_its_own(bench: Bench) -> None:
    bring(bench, PAST, component="")
    assert plausibility(sample_of(bench, "SB-1"), "0.681") == ""


def test_a_product_made_seldom_keeps_its_history(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Eight old lots of one product, then more runs of another than are looked at: the first is still known."""
    for number in range(8):
        sample_of(bench, f"OLD-{number}", f"0.63{number}")
    other = make.make_product(bench.method, "Oat base", component="")
    seldom, often = bench.product, Product.objects.get(pk=other.pk)
    bench.product = often
    for number in range(6):
        sample_of(bench, f"B-{number}", "0.290", "0.291")
    bench.product = seldom
    monkeypatch.setattr(history, "LATEST_RUNS", 10)
    assert Run.objects.count() == 20
    found = Known(bench.site).histories()
    assert found["Soft oat bar (whole bar)"].n == 8
    assert "not plausible" in plausibility(sample_of(bench, "NOW"), "0.29")

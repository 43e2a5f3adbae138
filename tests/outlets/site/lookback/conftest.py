"""A bench with a failed check: three lots read since the last good one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from tests.outlets.site.lots.bench_day import NOW, Bench, judge, make_bench, make_check, make_lot

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.checks.models import Check

LOW = (("MgCl2", "0.3250"), ("NaCl", "0.7410"))
FAILED_AT = NOW + timedelta(hours=20)
AS_READ = {"SB-0916-01": ("0.6310", "0.6314"), "SB-0916-02": ("0.6440", "0.6444"), "SB-0916-03": ("0.6380", "0.6384")}


@dataclass
class Morning:
    """What the manager finds at six."""

    bench: Bench
    lots: list[Lot]
    failed: Check

    @property
    def codes(self) -> list[str]:
        """The lots, as they were read."""
        return [lot.code for lot in self.lots]


@pytest.fixture
def morning(site_db: Path) -> Morning:
    """Three judged lots, no closing check, a failed check the next morning."""
    bench = make_bench(guard="1.64")
    lots = [make_lot(bench, code, *pair) for code, pair in AS_READ.items()]
    for lot in lots:
        judge(bench, lot)
    failed = make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT, read=LOW)
    return Morning(bench, lots, failed)

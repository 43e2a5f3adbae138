"""A lot that a failed check puts at risk is not released on that record, whatever check stands between."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from tests.outlets.site.lots.bench_day import NOW, judge, key_again, make_bench, make_check, make_lot, proof_of

from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.lots.actions.sign_records import SignRecords

BETWEEN = {
    "a closing check of one reference": (0, "closing", (("NaCl", "0.7535"),)),
    "an opening check of another range": (18, "opening", (("LiCl", "0.1130"), ("MgCl2", "0.3283"))),
}
LOW = (("MgCl2", "0.3250"), ("NaCl", "0.7410"))


@pytest.mark.parametrize("between", BETWEEN)
def test_a_weak_check_between_does_not_hide_the_failed_one(site_db: Path, between: str) -> None:
    bench = make_bench(guard="1.64")
    lot = make_lot(bench, "L1", "0.6400", "0.6404")
    hours, kind, read = BETWEEN[between]
    make_check(bench.instrument, bench.method, bench.analyst, NOW + timedelta(hours=hours), kind=kind, read=read)
    make_check(bench.instrument, bench.method, bench.analyst, NOW + timedelta(hours=20), read=LOW)
    key_again(bench, lot)
    at = NOW + timedelta(hours=21)
    record = judge(bench, lot, at=at)
    perform(SignRecords(bench.site, [record], "reviewed", proof_of(bench.manager, at), True), By(bench.manager, at))
    with pytest.raises(Refused, match="failed, and nothing protects a reading of lot L1 since"):
        perform(SignRecords(bench.site, [record], "released", proof_of(bench.officer, at), True), By(bench.officer, at))
    lot.refresh_from_db()
    assert lot.state != "released"

"""Which lots are on the list, with which numbers, and that the list of a past window stays what it was."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.outlets.site import make
from tests.outlets.site.lookback.conftest import AS_READ, FAILED_AT, Morning
from tests.outlets.site.lots.bench_day import NOW, OPENED, judge, make_check, make_lot, make_portion, make_run

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.lots_of_check import failed_against, lots_since_last_good
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lookback.queries import looked_back


def listed(failed: Check) -> list[str]:
    """The lots at risk, worst first."""
    return [result.given.lot for result in looked_back(failed).back.results]


def test_the_lots_since_the_good_check_worst_first_with_the_bias_taken_off(morning: Morning) -> None:
    """The corrected value by numpy's own interpolation: where a reading lies between what two references read."""
    looked = looked_back(morning.failed)
    assert listed(morning.failed) == ["SB-0916-02", "SB-0916-03", "SB-0916-01"]
    expected = [s["expected"] for s in morning.failed.result["solutions"]]
    for result in looked.back.results:
        mean = np.mean([float(a_w) for a_w in AS_READ[result.given.lot]])
        true = np.interp(mean, (0.3250, 0.7410), expected)
        assert float(result.corrected) == pytest.approx(true, abs=1e-9)
        assert result.given.verdict_before == looked.of(result).lot.records.get().verdict
    assert looked.back.beyond == 1


def test_the_check_page_and_certificates_go_by_the_same_rule(morning: Morning) -> None:
    assert {lot.code for lot in lots_since_last_good(morning.failed)} == set(listed(morning.failed))
    assert {lot.read for lot in lots_since_last_good(morning.failed)} == {2}
    for lot in morning.lots:
        (said,) = failed_against(lot, Run.objects.filter(portion__sample__lot=lot))
        assert f"Check {morning.failed.pk} of OW-1 failed" in said
    other = make_lot(morning.bench, "SB-0917-09")
    make_run(morning.bench, make_portion(morning.bench, other.samples.get(), "A"), "0.64", OPENED - timedelta(hours=1))
    assert failed_against(other, Run.objects.filter(portion__sample__lot=other)) == []


def test_a_closing_check_that_passed_shrinks_the_list_to_none(morning: Morning) -> None:
    bench = morning.bench
    closing = make_check(bench.instrument, bench.method, bench.analyst, NOW, kind="closing")
    assert listed(morning.failed) == []
    late = make_lot(bench, "SB-0916-04")
    make_run(bench, make_portion(bench, late.samples.get(), "A"), "0.6400", NOW + timedelta(hours=1))
    assert listed(morning.failed) == ["SB-0916-04"], "what was read after it is not protected by it"
    Check.objects.filter(pk=closing.pk).update(voided_at=NOW, void_reason="the bottle stood open")
    assert len(listed(morning.failed)) == 4, "a void check protects nothing"


def test_what_was_read_on_another_instrument_or_before_is_not_listed(morning: Morning) -> None:
    bench = morning.bench
    other = make.make_instrument(bench.site, "OW-2")
    for code, more, at in (
        ("SB-0916-05", {"instrument": other}, NOW),
        ("SB-0916-06", {}, OPENED - timedelta(minutes=1)),
    ):
        lot = make_lot(bench, code)
        make_run(bench, make_portion(bench, lot.samples.get(), "A"), "0.6400", at, **more)
    assert set(listed(morning.failed)) == set(morning.codes)


def test_a_lot_that_was_not_judged_is_listed_with_what_was_read(morning: Morning) -> None:
    lot = make_lot(morning.bench, "SB-0916-07", "0.6390", "0.6394")
    looked = looked_back(morning.failed)
    (found,) = [result for result in looked.back.results if result.given.lot == lot.code]
    assert found.given.verdict_before is None
    assert float(found.given.value) == pytest.approx(0.6392, abs=1e-12)
    assert found.given.u == pytest.approx((0.0032**2 + 0.0020**2 / 2) ** 0.5, rel=1e-9)  # the method's budget, n = 2


def test_what_came_later_does_not_change_the_list(morning: Morning) -> None:
    """Voided, judged again, tested again: the list says what was at risk that morning."""
    before = [result.as_json() for result in looked_back(morning.failed).back.results]
    bench, lot = morning.bench, morning.lots[0]
    later = FAILED_AT + timedelta(hours=3)
    for run in Run.objects.filter(portion__sample__lot=lot):
        run.void_reason, run.voided_at, run.voided_by = "the rim was smeared", later, bench.manager
        run.save()
    opening = make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT + timedelta(hours=1))
    for code in "XY":
        cup = make_portion(bench, lot.samples.get(), code)
        make_run(bench, cup, "0.6420", FAILED_AT + timedelta(hours=2), opening_check=opening)
    judge(bench, lot, "tested again", FAILED_AT + timedelta(hours=4))
    assert [result.as_json() for result in looked_back(morning.failed).back.results] == before


def test_the_window_ends_with_the_next_good_check(morning: Morning) -> None:
    bench = morning.bench
    lot = make_lot(bench, "SB-0917-01")
    at = FAILED_AT + timedelta(minutes=30)
    make_run(bench, make_portion(bench, lot.samples.get(), "A"), "0.6400", at)
    assert lot.code in listed(morning.failed), "read all the same after it failed"
    make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT + timedelta(minutes=10))
    assert lot.code not in listed(morning.failed)


def test_only_a_failed_check_looks_back(morning: Morning) -> None:
    with pytest.raises(InputError, match="a failed check"):
        looked_back(morning.bench.opening)


def test_more_lots_cost_no_more_questions(morning: Morning) -> None:
    make_lot(morning.bench, "SB-0916-09", "0.6310", "0.6312")
    with CaptureQueriesContext(connection) as few:
        looked_back(morning.failed)
    for k in range(10, 15):
        make_lot(morning.bench, f"SB-0916-{k}", "0.6310", "0.6312")
    with CaptureQueriesContext(connection) as more:
        assert len(looked_back(morning.failed).back.results) == 9
    assert len(more) == len(few)
    assert Lot.objects.count() == 9

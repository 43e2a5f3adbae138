"""Which lots are on the list, with which numbers, and that the list of a past window stays what it was."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.lookback.conftest import AS_READ, FAILED_AT, Morning
from tests.outlets.site.lots.bench_day import NOW, OPENED, judge, make_check, make_lot, make_portion, make_run

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.checks.lots_of_check import failed_against, lots_since_last_good
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lookback.page import look_back_page
from isohume.outlets.site.lookback.pictures import picture_of
from isohume.outlets.site.lookback.queries import looked_back
from isohume.outlets.site.lookback.sheet import sheet_of
from isohume.outlets.site.lookback.words import corrected_words


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


@pytest.mark.parametrize(
    ("read", "why"),
    [
        ((("MgCl2", "0.3290"), ("NaCl", "0.9990")), "NaCl saturated was off by"),
        ((("MgCl2", "0.0100"), ("NaCl", "0.0300")), "is no water activity"),
    ],
)
def test_after_a_wild_check_nothing_is_certain(
    morning: Morning, client: Client, read: tuple[tuple[str, str], ...], why: str
) -> None:
    """0.6312 became 0.5196 with u 0.0035, "pass" and 100 %, last of the list; and 1.354 without a word."""
    bench = morning.bench
    wild = make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT + timedelta(minutes=30), read=read)
    looked = looked_back(wild)
    assert {result.given.lot for result in looked.back.results} == set(morning.codes)
    for result in looked.back.results:
        assert result.decision.probability_of_conformity is None
        assert (result.decision.verdict, result.disposition) == ("no verdict", "hold")
        assert any("No correction can be believed" in said for said in result.decision.reasons)
        assert why in result.bias.reasons[0]
        assert result.as_json()["correction_believed"] is False
        assert corrected_words(result) == "none believed"
    page = look_back_page(wild, FAILED_AT + timedelta(hours=1))
    assert page.answer == "3 lots, 0 beyond a limit once corrected; for 3 no correction can be believed"
    assert {row.after_shape for row in page.rows} == {"hold"}
    assert len(picture_of(page).lots) == 3
    assert all("none believed" in cells for cells, _ in sheet_of(wild, FAILED_AT + timedelta(hours=1)).lots)
    client.force_login(bench.manager, "django.contrib.auth.backends.ModelBackend")
    shown = client.get(reverse("look_back", args=[wild.pk])).content.decode()
    assert shown.count("none believed") >= 3
    assert "No correction can be believed: " in shown


def test_a_moment_in_the_doubled_hour_says_which_of_the_two_it_is(morning: Morning) -> None:
    """On 25 October 2026 the clocks of Berlin go back from 03:00 to 02:00 (rule of the European Union)."""
    site = morning.bench.site
    site.time_zone = "Europe/Berlin"
    site.save()
    page = look_back_page(Check.objects.get(pk=morning.failed.pk), FAILED_AT + timedelta(hours=1))
    first, second = (datetime(2026, 10, 25, hour, 30, tzinfo=UTC) for hour in (0, 1))
    assert page.moment(first) == "2026-10-25 02:30+02:00"
    assert page.moment(second) == shown_at(second, site) == "2026-10-25 02:30+01:00"
    assert page.moment(second + timedelta(hours=1)) == "2026-10-25 03:30"
    assert page.moment(first - timedelta(hours=1)) == "2026-10-25 01:30"
    forward = datetime(2026, 3, 29, 1, 30, tzinfo=UTC)  # the hour that was left out makes nothing doubtful
    assert shown_at(forward, site) == "2026-03-29 03:30"

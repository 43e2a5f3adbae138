"""What may shrink a list, and what may not: late entries, other methods, other scales, checks that say nothing."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from tests.outlets.cli.conftest import ask
from tests.outlets.site import make
from tests.outlets.site.adjustments.bench import BACKEND, LOW, NOW, make_morning
from tests.outlets.site.adjustments.bench import Morning as Corrected
from tests.outlets.site.adjustments.test_correcting import read_lot
from tests.outlets.site.lookback.conftest import FAILED_AT, Morning
from tests.outlets.site.lots.bench_day import make_bench, make_check, make_lot, make_portion, make_run

from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.lots_of_check import failed_against, lots_since_last_good
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lookback.queries import looked_back, unanswered
from isohume.outlets.site.register.models import Bottle

MINUTE = timedelta(minutes=1)
SEVEN = NOW - timedelta(hours=2)
BEGINS = SEVEN + 60 * MINUTE
KCL_AND_NACL = (("NaCl", "0.7510"), ("KCl", "0.8234"))
"""Saturated at 25 degC: NaCl 0.7529, KCl 0.8434 (Greenspan 1977): NaCl within 0.005, KCl low by 0.020."""


def listed(failed: Check) -> set[str]:
    return {result.given.lot for result in looked_back(failed).back.results}


def said_on_page(client: Client, check: Check) -> str:
    page = client.get(reverse("look_back", args=[check.pk]))
    assert page.status_code == 200
    return page.content.decode()


@pytest.fixture
def manager(morning: Morning, client: Client) -> Client:
    client.force_login(morning.bench.manager, BACKEND)
    return client


def test_a_closing_check_typed_after_the_failure_does_not_shrink_the_list(morning: Morning, manager: Client) -> None:
    """Honest or not, it cannot be told: the page names it with the reason."""
    bench, failed = morning.bench, morning.failed
    closing = make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT - timedelta(hours=18), "closing")
    assert listed(failed) == set(), "entered when it was read, it shrinks the list"
    Check.objects.filter(pk=closing.pk).update(entered_at=failed.entered_at + timedelta(hours=1))
    assert listed(failed) == set(morning.codes)
    assert {lot.code for lot in lots_since_last_good(failed)} == set(morning.codes)
    for lot in morning.lots:
        assert failed_against(lot, Run.objects.filter(portion__sample__lot=lot))
    said = said_on_page(manager, failed)
    assert f"The closing check {closing.pk} of" in said
    assert f"after check {failed.pk} was entered as failed" in said
    assert "it does not shrink the list" in said
    Check.objects.filter(pk=closing.pk).update(entered_at=failed.entered_at)
    assert listed(failed) == set(morning.codes), "at the same moment is not before"


def test_a_check_that_ends_the_window_was_entered_after_the_failure_as_it_must(morning: Morning) -> None:
    bench = morning.bench
    lot = make_lot(bench, "SB-0917-01")
    make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT + 10 * MINUTE)
    make_run(bench, make_portion(bench, lot.samples.get(), "A"), "0.6400", FAILED_AT + 30 * MINUTE)
    assert lot.code not in listed(morning.failed)


def test_a_check_under_another_method_protects_nothing_read_under_this_one(morning: Morning, manager: Client) -> None:
    bench, failed = morning.bench, morning.failed
    warm = make.make_method(bench.site, name="Bars at 40 degC")
    closing = make_check(bench.instrument, warm, bench.analyst, NOW + timedelta(hours=1), kind="closing")
    assert listed(failed) == set(morning.codes)
    early, late = make_lot(bench, "SB-W1"), make_lot(bench, "SB-W2")
    for lot, at in ((early, NOW), (late, NOW + timedelta(hours=2))):
        run = make_run(bench, make_portion(bench, lot.samples.get(), "A"), "0.6400", at)
        Run.objects.filter(pk=run.pk).update(method_version=warm)
    assert listed(failed) == {*morning.codes, "SB-W2"}, "the failed check speaks against every method of its instrument"
    assert failed_against(early, Run.objects.filter(portion__sample__lot=early)) == []
    said = said_on_page(manager, failed)
    assert "What was read under Bars at 40 degC is looked at since" in said
    assert f"check {closing.pk}" not in said


def test_a_value_with_a_passing_reference_on_one_side_only_is_on_the_list(site_db: Path) -> None:
    """0.648 lies below NaCl, the lowest reference of a closing check whose KCl failed."""
    bench = make_bench(guard="1.64")
    make_lot(bench, "L1", "0.6480", "0.6484")
    failed = make_check(
        bench.instrument, bench.method, bench.analyst, NOW + timedelta(hours=2), "closing", KCL_AND_NACL
    )
    assert [s["within"] for s in failed.result["solutions"]] == [True, False]
    assert listed(failed) == {"L1"}


def test_the_command_line_lists_the_lots_of_every_failed_check_that_nothing_answered(site_db: Path) -> None:
    """The repeat read other references and lists fewer lots: alone it would say that little is at risk."""
    bench = make_bench(guard="1.64")
    make_lot(bench, "L1", "0.6480", "0.6484")
    first_at = NOW + timedelta(hours=20)
    low = (("MgCl2", "0.3100"), ("NaCl", "0.7410"))
    first = make_check(bench.instrument, bench.method, bench.analyst, first_at, read=low)
    repeat = (("MgCl2", "0.3280"), ("NaCl", "0.7520"), ("KCl", "0.8234"))
    second = make_check(bench.instrument, bench.method, bench.analyst, first_at + 15 * MINUTE, read=repeat)
    assert (listed(first), listed(second)) == ({"L1"}, set())
    assert unanswered(bench.instrument) == [second, first]
    connection.close()
    words = "lookback", site_db, "--instrument", "OW-1"
    answer = ask(*words, "--json")
    assert (answer.status, answer.json["count"]) == (1, 1)
    assert (answer.json["failed_check"], answer.json["failed_checks"]) == (second.pk, [second.pk, first.pk])
    assert answer.json["results"][0]["failed_check"] == first.pk
    read = ask(*words)
    assert (read.status, read.out.count("failed check")) == (1, 2)
    assert f"reference of check {first.pk}" in read.out
    assert ask(*words, "--check", str(second.pk)).status == 0


def test_a_failed_check_that_was_answered_is_not_listed_with_a_later_one(morning: Morning) -> None:
    bench = morning.bench
    make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT + 30 * MINUTE)
    low = (("MgCl2", "0.3250"), ("NaCl", "0.7410"))
    later = make_check(bench.instrument, bench.method, bench.analyst, FAILED_AT + timedelta(hours=24), read=low)
    assert unanswered(bench.instrument) == [later]


# ---- while a correction is in force: read low by 0.009 at Mg(NO3)2 and 0.012 at NaCl, and corrected since eight


@pytest.fixture
def corrected(site_db: Path) -> Corrected:
    """Failed carefully at seven, corrected at eight, passed as left."""
    found = make_morning()
    found.correct(found.fail_carefully(SEVEN), BEGINS)
    assert found.check(BEGINS + 5 * MINUTE, LOW).passed
    return found


def record(day: Corrected, at: datetime, *read: tuple[Bottle, str], kind: str = "closing") -> Check:
    rows = [
        {"bottle": bottle, "temperature_c": "25.0", "a_w": a_w, "read_at": (at + 3 * n * MINUTE).isoformat()}
        for n, (bottle, a_w) in enumerate(read)
    ]
    return perform(RecordCheck(day.instrument, kind, day.method, rows), By(day.analyst, at + 10 * MINUTE))


@pytest.fixture
def as_left(corrected: Corrected) -> Check:
    return Check.objects.filter(instrument=corrected.instrument, passed=True).latest("pk")


@pytest.fixture
def desk(corrected: Corrected, client: Client, monkeypatch: pytest.MonkeyPatch) -> Client:
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    client.force_login(corrected.manager, BACKEND)
    return client


@pytest.mark.parametrize("kept_by_older_versions", [False, True])
def test_a_failed_check_with_no_reference_in_the_correction_failed_everywhere(
    corrected: Corrected, as_left: Check, desk: Client, site_db: Path, kept_by_older_versions: bool
) -> None:
    lot = read_lot(corrected, as_left, BEGINS + 20 * MINUTE, "SB-1", "0.6320", "0.6336")
    judge_at = BEGINS + 25 * MINUTE
    given = judge_lot(corrected, lot, judge_at)
    failed = record(corrected, BEGINS + 40 * MINUTE, (make.make_bottle(corrected.site, "KCl"), "0.8434"))
    if kept_by_older_versions:
        Check.objects.filter(pk=failed.pk).update(result={**failed.result, "solutions": []})
        failed.refresh_from_db()
    assert not failed.passed
    assert listed(failed) == {"SB-1"}
    assert failed_against(lot, Run.objects.filter(portion__sample__lot=lot))
    (result,) = looked_back(failed).back.results
    # as read KCl was true; as stated it would be high by what the correction adds there, with as much doubt
    assert result.bias.bias == pytest.approx(0.0137, abs=0.0010)
    assert result.u > 0.013
    assert float(result.given.value) == pytest.approx(given)
    # a check kept without any reference has nothing to draw on its own page
    for name in ("look_back", *(() if kept_by_older_versions else ("check", "check_sequence"))):
        assert desk.get(reverse(name, args=[failed.pk])).status_code == 200, name
    connection.close()
    assert ask("lookback", site_db, "--instrument", "OW-1").status == 1


def test_the_check_keeps_what_was_read_outside_the_correction(corrected: Corrected) -> None:
    failed = record(corrected, BEGINS + 40 * MINUTE, (make.make_bottle(corrected.site, "KCl"), "0.7900"))
    (kept,) = failed.result["solutions"]
    assert (kept["solution"], kept["mean"], kept["within"]) == ("KCl", 0.79, False)


def test_a_reading_is_placed_on_the_scale_of_the_failed_check(corrected: Corrected, as_left: Check) -> None:
    """KI, 0.6886, read 0.6775 and corrected within; NaCl 0.760, which the correction makes 0.772.

    Read 0.682, stated 0.6934: above KI, beside NaCl. As read it would lie below KI, where the check was true.
    """
    read_lot(corrected, as_left, BEGINS + 20 * MINUTE, "ABOVE", "0.6820")
    read_lot(corrected, as_left, BEGINS + 22 * MINUTE, "BETWEEN", "0.6640")
    iodide = make.make_bottle(corrected.site, "KI")
    read = (corrected.nitrate, "0.5200"), (iodide, "0.6775"), (corrected.salt, "0.7600")
    failed = record(corrected, BEGINS + 40 * MINUTE, *read)
    assert [s["within"] for s in failed.result["solutions"]] == [True, True, False]
    back = looked_back(failed).back
    assert [one.given.lot for one in back.results] == ["ABOVE"]
    assert [one.given.lot for one in back.beside] == ["BETWEEN"]
    assert {lot.code for lot in lots_since_last_good(failed)} == {"ABOVE"}


def test_what_was_stated_with_a_correction_is_not_confirmed_nor_corrected_twice_by_a_check_without_it(
    corrected: Corrected, as_left: Check
) -> None:
    """The correction is ended; the same instrument then reads low again, as it did: nothing was wrong with the lot.

    The bias goes by what the correction makes of the references: about none, in place of 0.0105 for a second time.
    """
    lot = read_lot(corrected, as_left, BEGINS + 20 * MINUTE, "SB-1", "0.6320", "0.6336")
    given = judge_lot(corrected, lot, BEGINS + 25 * MINUTE)
    corrected.end(corrected.instrument.corrections.get(), BEGINS + 30 * MINUTE)
    low = (corrected.nitrate, "0.5200"), (corrected.salt, "0.7410")
    failed = record(corrected, BEGINS + 40 * MINUTE, *low, kind="opening")
    assert not failed.passed
    (result,) = looked_back(failed).back.results
    assert float(result.given.value) == pytest.approx(given)
    assert result.bias.bias == pytest.approx(0.0, abs=0.0005)
    assert any("stated with another correction" in reason for reason in result.decision.reasons)


def judge_lot(day: Corrected, lot: object, at: datetime) -> float:
    from isohume.outlets.site.lots.actions.judge_lot import JudgeLot

    value = perform(JudgeLot(lot, ""), By(day.analyst, at)).value
    assert value == pytest.approx(0.6328 + 0.0105, abs=0.0003), "stated with the correction"
    return float(value)

"""While a failure is open: only a check that began after it, and read all that failed, lets an instrument measure."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.checks.day import BACKEND, NOW, Day, make_runs

from isohume.outlets.site.adjustments.sequence import open_failure, sequence_of
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import check_in_force, gate, protecting_check, standings
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot

MINUTE = timedelta(minutes=1)
LATER = NOW + timedelta(hours=1)
KCL_AT_25 = "0.8434"  # Greenspan 1977, 84.34 %


@pytest.fixture
def started(day: Day) -> Day:
    """A day whose instrument was started and checked in the morning."""
    day.start()
    day.check(NOW - 90 * MINUTE)
    return day


def aside(day: Day, at=NOW + 20 * MINUTE) -> Check:
    """A repeat that leaves out NaCl, which failed: MgCl2 and KCl instead."""
    kcl = day.site.solution_lots.filter(solution="KCl").first()
    bottle = kcl.bottles.get() if kcl else make.make_bottle(day.site, "KCl")
    other = {"bottle": bottle, "temperature_c": "25.0", "a_w": KCL_AT_25, "read_at": (at + 6 * MINUTE).isoformat()}
    rows = [day.rows(at)[0], other]
    return perform(RecordCheck(day.instrument, "opening", day.method, rows), day.by(at + 10 * MINUTE))


def allowed(day: Day, at=LATER) -> bool:
    """The gate, and the standings of the plant: they must say the same."""
    [one] = standings(day.site, at)
    assert one.gate == gate(day.instrument, at)
    return one.gate.allowed


@pytest.mark.parametrize(("after", "stands"), [(-2, False), (3, False), (6, False), (7, True)])
def test_a_passed_check_beside_a_failed_one_gives_no_standing(started: Day, after: int, stands: bool) -> None:
    """The failed one is read from 10:00 to 10:06; its repeat counts where it begins after that."""
    failed = started.check(NOW, nacl="0.7400")
    passed = started.check(NOW + after * MINUTE)
    assert passed.passed
    if after == -2:  # it ended before the failed one did: that one was read last
        passed = started.check(NOW + 5 * MINUTE)
    assert allowed(started) == stands
    assert check_in_force(started.instrument, LATER) == (passed if stands else failed)
    assert (protecting_check(started.instrument, LATER) == passed) == stands
    assert (open_failure(started.instrument, LATER) is None) == stands
    assert (sequence_of(failed).passed is not None) == stands
    said = f"Check {passed.pk} of OW-1 passed, but began before failed check {failed.pk} had ended: check again after"
    assert any(said in reason for reason in gate(started.instrument, LATER).reasons) == (not stands)


def test_a_failed_check_entered_late_takes_the_standing_of_the_one_beside_it(started: Day) -> None:
    passed = started.check(NOW + 3 * MINUTE)
    lots = make_runs(started, passed, "L1", at=NOW + 30 * MINUTE)
    assert allowed(started)
    late = RecordCheck(started.instrument, "opening", started.method, started.rows(NOW, nacl="0.7400"))
    perform(late, started.by(LATER))
    assert not allowed(started)
    with pytest.raises(Refused, match=r"passed, but began before failed check \d+ had ended"):
        perform(JudgeLot(lots[0], ""), started.by(LATER))


def test_a_repeat_that_leaves_out_what_failed_lets_nothing_be_measured(started: Day) -> None:
    failed = started.check(NOW, nacl="0.7400")
    left_out = aside(started)
    assert left_out.passed
    assert not allowed(started)
    said = f"Check {left_out.pk} of OW-1 passed, but did not read NaCl saturated, which failed before: read all that"
    assert any(said in reason for reason in gate(started.instrument, LATER).reasons)
    assert open_failure(started.instrument, LATER) == failed
    sequence = sequence_of(failed)
    assert sequence.passed is None
    assert "did not read NaCl saturated" in sequence.steps[0].why
    details = trail_of(left_out.ref)[0].details
    assert details["may_measure"] == "no"
    assert any("did not read NaCl saturated" in reason for reason in details["reasons"])
    again = started.check(NOW + 40 * MINUTE)  # it was no repeat, so one repeat is still open
    assert allowed(started)
    assert open_failure(started.instrument, LATER) is None
    assert sequence_of(failed).passed.name == f"check {again.pk}"


def test_the_next_morning_does_not_forget_what_failed(started: Day) -> None:
    started.check(NOW, kind="closing", nacl="0.7400")
    morning = NOW + timedelta(hours=22)
    started.start(morning - 10 * MINUTE)
    aside(started, morning)
    assert not allowed(started, morning + 30 * MINUTE)
    started.check(morning + 40 * MINUTE)
    assert allowed(started, morning + 60 * MINUTE)


def test_another_lot_of_what_failed_is_enough(started: Day) -> None:
    started.check(NOW, nacl="0.7400")
    lot = started.nacl.solution_lot
    lot.pk, lot.code = None, "NaCl-26-07"
    lot.save()
    started.nacl = type(started.nacl).objects.create(solution_lot=lot, code="1", opened_at=NOW - timedelta(days=2))
    started.check(NOW + 20 * MINUTE)
    assert allowed(started)


def test_what_a_repeat_found_wrong_is_read_again_too(started: Day) -> None:
    """NaCl failed first, MgCl2 in the repeat with KCl: a check of KCl and NaCl says nothing of MgCl2."""
    started.check(NOW, nacl="0.7400")
    started.check(NOW + 10 * MINUTE, mgcl2="0.3400")
    kcl = make.make_bottle(started.site, "KCl")
    at = NOW + 30 * MINUTE
    lot = started.nacl.solution_lot
    lot.pk, lot.code = None, "NaCl-26-07"  # a second lot is a step itself
    lot.save()
    second = type(kcl).objects.create(solution_lot=lot, code="1", opened_at=NOW - timedelta(days=2))
    given = ((second, "0.7524"), (kcl, KCL_AT_25))
    rows = [{"bottle": b, "temperature_c": "25.0", "a_w": a_w, "read_at": at.isoformat()} for b, a_w in given]
    found = perform(RecordCheck(started.instrument, "opening", started.method, rows), started.by(at + MINUTE))
    assert (found.passed, found.left_out) == (True, "MgCl2 saturated")
    assert not allowed(started)


def test_a_failed_check_entered_late_asks_the_later_ones_again(started: Day) -> None:
    first = aside(started, NOW + 20 * MINUTE)
    second = aside(started, NOW + 35 * MINUTE)
    assert allowed(started)
    late = RecordCheck(started.instrument, "closing", started.method, started.rows(NOW, nacl="0.7400"))
    failed = perform(late, started.by(LATER))
    for check in (first, second):
        check.refresh_from_db()
        assert check.left_out == "NaCl saturated"
    assert not allowed(started)
    assert check_in_force(started.instrument, LATER) == failed


def test_a_check_says_on_its_page_why_it_gives_no_standing(started: Day, client: Client, monkeypatch) -> None:
    failed = started.check(NOW, nacl="0.7400")
    left_out = aside(started)
    monkeypatch.setattr("django.utils.timezone.now", lambda: LATER)
    client.force_login(started.analyst, BACKEND)
    page = client.get(reverse("check", args=[left_out.pk])).content.decode()
    assert "At these references, yes; it gives no standing" in page
    assert "passed, but did not read NaCl saturated, which failed before" in page
    assert "Check OW-1 again, with NaCl saturated among the references." in page
    assert "protects nothing" in page
    assert reverse("check_sequence", args=[failed.pk]) in page
    sequence = client.get(reverse("check_sequence", args=[failed.pk])).content.decode()
    assert "did not read NaCl saturated" in sequence
    assert "It passed again" not in sequence


def test_standings_stay_two_queries_whatever_failed(started: Day) -> None:
    started.check(NOW, nacl="0.7400")
    aside(started)
    with CaptureQueriesContext(connection) as queries:
        [one] = standings(started.site, LATER)
    assert len(queries) == 2
    assert any("did not read" in reason for reason in one.gate.reasons)


def test_a_sheet_of_the_night_serves_readings_entered_after_midnight(day: Day) -> None:
    """Read at 23:40 at the plant, entered at 00:20, when the new day has its own sheet."""
    evening = NOW.replace(hour=22, minute=40)  # London is an hour ahead in September
    night = day.start(evening - 30 * MINUTE)
    day.start(evening + 25 * MINUTE)
    rows = day.rows(evening)
    check = perform(RecordCheck(day.instrument, "opening", day.method, rows), day.by(evening + 40 * MINUTE))
    assert check.start_sheet == night

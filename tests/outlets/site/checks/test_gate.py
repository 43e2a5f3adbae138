"""Which check protects a reading, and may this instrument measure now?"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.outlets.site import make
from tests.outlets.site.checks.day import NOW, Day

from isohume.outlets.site.checks.actions.log_cleaning import LogCleaning
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import closing_check, gate, protecting_check, standings
from isohume.outlets.site.ledger.actions import perform

HOUR = timedelta(hours=1)


def opened(day: Day, at: datetime = NOW - HOUR, **more: str) -> Check:
    """A start sheet and an opening check."""
    day.start(at - HOUR)
    return day.check(at, **more)


def test_nothing_protects_before_the_first_check(day: Day) -> None:
    assert protecting_check(day.instrument, NOW) is None
    assert gate(day.instrument, NOW).reasons == (
        "No check yet today: check the instrument on two reference solutions first.",
    )


def test_a_passed_check_protects_from_its_last_reading_to_the_end_of_its_hours(day: Day) -> None:
    check = opened(day)
    assert protecting_check(day.instrument, check.last_read_at - timedelta(seconds=1)) is None
    assert protecting_check(day.instrument, check.last_read_at) == check
    assert protecting_check(day.instrument, check.until) == check
    assert protecting_check(day.instrument, check.until + timedelta(seconds=1)) is None
    now = gate(day.instrument, NOW)
    assert now.allowed
    assert now.hours_left == pytest.approx(23)
    over = gate(day.instrument, check.until + HOUR)
    assert (over.allowed, over.hours_left) == (False, 0)
    assert "ended at 2026-09-17 09:00: check again" in over.reasons[0]  # 08:00 UTC is nine o'clock in London


@pytest.mark.parametrize("kind", ["opening", "closing"])
def test_a_failed_check_takes_the_standing_away_until_the_next_passed_opening_check(day: Day, kind: str) -> None:
    first = opened(day)
    failed = day.check(NOW, kind=kind, nacl="0.7400")
    assert protecting_check(day.instrument, NOW) == first
    assert protecting_check(day.instrument, failed.last_read_at) is None
    refused = gate(day.instrument, NOW + HOUR)
    assert not refused.allowed
    assert any("NaCl reads low" in reason for reason in refused.reasons)
    assert refused.check == failed
    day.check(NOW + HOUR, kind="closing")
    assert not gate(day.instrument, NOW + 2 * HOUR).allowed
    again = day.check(NOW + 2 * HOUR)
    assert protecting_check(day.instrument, NOW + 3 * HOUR) == again


def test_one_reference_alone_gives_no_standing_and_takes_none(day: Day) -> None:
    day.start()
    alone = perform(RecordCheck(day.instrument, "opening", day.method, day.rows(NOW - HOUR)[:1]), day.by())
    assert protecting_check(day.instrument, NOW) is None
    said = gate(day.instrument, NOW)
    assert said.check == alone
    assert any("Fewer than two different reference solutions" in reason for reason in said.reasons)
    both = day.check(NOW)
    perform(RecordCheck(day.instrument, "opening", day.method, day.rows(NOW + HOUR)[:1]), day.by(NOW + 2 * HOUR))
    assert protecting_check(day.instrument, NOW + 2 * HOUR) == both


def test_a_void_check_protects_nothing_and_condemns_nothing(day: Day) -> None:
    first = opened(day)
    failed = day.check(NOW, nacl="0.7400")
    failed.deviations.update(closed_at=NOW)
    perform(VoidCheck(failed, "the dish of another lot was read"), day.by(NOW + HOUR, day.manager))
    assert protecting_check(day.instrument, NOW + HOUR) == first
    perform(VoidCheck(first, "the seal was not seated"), day.by(NOW + HOUR, day.manager))
    assert protecting_check(day.instrument, NOW + HOUR) is None


def test_a_cleaning_after_the_check_asks_for_another_check(day: Day) -> None:
    opened(day)
    perform(LogCleaning(day.instrument, "chamber wiped", ""), day.by(NOW))
    refused = gate(day.instrument, NOW + HOUR)
    assert not refused.allowed
    assert "cleaned at 2026-09-16 10:00, after its check" in refused.reasons[0]


def test_an_instrument_out_of_use_does_not_measure_whatever_its_check(day: Day) -> None:
    opened(day)
    day.instrument.in_use = False
    day.instrument.save()
    assert gate(day.instrument, NOW).reasons == ("OW-1 is out of use.",)


def test_the_range_must_stand_on_both_sides_of_the_limits_with_their_guard(day: Day) -> None:
    opened(day)
    inside = make.make_product(day.method).specification
    assert gate(day.instrument, NOW, inside).allowed
    # 0.750 is below NaCl (0.7529) but a minimum with its guard, 1.64 u, reaches above it
    above = make.make_product(
        day.method, "Date cubes", lower="0.750", lower_operator=">=", upper="", upper_operator=""
    ).specification
    refused = gate(day.instrument, NOW, above)
    assert not refused.allowed
    assert "Not bracketed above" in refused.reasons[0]
    day.method.budgets.all().delete()  # the starter budget of the published studies is wider still
    assert not gate(day.instrument, NOW, above).allowed


def test_standings_of_a_plant_are_read_in_two_queries(day: Day) -> None:
    opened(day)
    for name in ("OW-2", "OW-3", "OW-4"):
        make.make_instrument(day.site, name)
    make.make_instrument(make.make_site("elm-mill"), "EM-1")
    with CaptureQueriesContext(connection) as queries:
        found = standings(day.site, NOW)
        said = [(s.instrument.name, s.word, s.left, s.covers is not None) for s in found]
    assert len(queries) == 2
    assert said == [
        ("OW-1", "may measure", "23 h 00 min left", True),
        *((name, "may not measure", "none left", False) for name in ("OW-2", "OW-3", "OW-4")),
    ]


def test_standings_agree_with_the_gate_of_each_instrument(day: Day) -> None:
    opened(day)
    other = make.make_instrument(day.site, "OW-2")
    for at in (NOW, NOW + 30 * HOUR):
        for standing in standings(day.site, at):
            assert standing.gate == gate(standing.instrument, at)
    assert gate(other, NOW).check is None


def test_the_check_that_closes_is_the_next_closing_or_failed_one(day: Day) -> None:
    first = opened(day)
    assert closing_check(first, NOW) is None
    closing = day.check(NOW + 8 * HOUR, kind="closing")
    assert closing_check(first, NOW) == closing
    assert closing_check(first, NOW + 9 * HOUR) is None
    opened(day, NOW + 20 * HOUR)
    assert closing_check(first, NOW + 9 * HOUR) is None
    failed = day.check(NOW + 22 * HOUR, nacl="0.7400")
    assert closing_check(first, NOW + 21 * HOUR) == failed


@pytest.mark.parametrize(("after", "where"), [(10, "before the readings"), (58, "among them"), (100, "after them")])
def test_a_check_that_failed_near_the_readings_decides_whenever_it_was_entered(
    day: Day, after: int, where: str
) -> None:
    first = opened(day, NOW - 3 * HOUR)
    passed = day.check(NOW, kind="closing")  # the readings come an hour after the opening check
    read = first.last_read_at + HOUR
    assert closing_check(first, read) == passed
    failed = day.check(first.last_read_at + timedelta(minutes=after), kind="closing", nacl="0.7400")
    assert closing_check(first, read) == failed, where


def test_a_failed_check_beside_a_passed_one_is_not_outvoted(day: Day) -> None:
    first = opened(day, NOW - 3 * HOUR)
    opened(day, NOW)
    failed = day.check(NOW + timedelta(minutes=1), kind="closing", nacl="0.7400")
    assert closing_check(first, NOW - HOUR) == failed


def test_a_check_under_another_method_does_not_let_an_instrument_measure(day: Day) -> None:
    check = opened(day)
    product = make.make_product(make.make_method(day.site, "Water activity at 40 degC, BM-40", temperature_c="40.0"))
    for refused in (
        gate(day.instrument, NOW, product.specification),
        gate(day.instrument, NOW, method=product.method.current),
    ):
        assert not refused.allowed
        assert f"Check {check.pk} of OW-1 was made under" in refused.reasons[-1]
    assert gate(day.instrument, NOW, method=day.method).allowed


def test_the_guard_is_the_one_of_the_version_the_reading_is_made_under(day: Day) -> None:
    opened(day)
    near = make.make_product(
        day.method, "Date cubes", lower="0.745", lower_operator=">=", upper="", upper_operator=""
    ).specification
    assert gate(day.instrument, NOW, near).allowed
    wide = day.method.method.versions.create(version="4", since=NOW)  # no budget of its own: the wide starter budget
    assert not gate(day.instrument, NOW, near, wide).allowed

"""The gate before a reading: no check, failed, ended, cleaned since, limits not bracketed; each with its reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest

from isohume.bench.assurance import CheckReading, Standing, judge_check, may_measure_now, standing
from isohume.foundation.quantity import InputError, Limit

FIVE = datetime(2026, 11, 24, 5, 0, tzinfo=UTC)
UPPER = (Limit(Decimal("0.650"), "<="),)


def checked(nacl: float = 0.7530, interval_h: float = 24) -> Standing:
    """A check on MgCl2 and NaCl at 25 degC (Greenspan's polynomials: 0.3279 and 0.7530), last read at 05:00."""
    readings = [
        CheckReading("MgCl2", None, 25.0, 0.3280, FIVE - timedelta(minutes=10)),
        CheckReading("NaCl", None, 25.0, nacl, FIVE),
    ]
    return standing(judge_check(readings), interval_h=interval_h)


def test_a_passed_check_lets_the_instrument_measure_until_it_ends() -> None:
    found = may_measure_now(checked(), FIVE + timedelta(hours=4), UPPER, Decimal("0.01"))
    assert found.allowed
    assert found.hours_left == pytest.approx(20 - 10 / 60)
    assert "0.3279 to 0.7530" in found.reasons[0]


def test_without_a_check_nothing_is_measured() -> None:
    found = may_measure_now(None, FIVE)
    assert (found.allowed, found.hours_left) == (False, 0)
    assert "No check yet today" in found.reasons[0]


def test_a_failed_check_says_which_solution_failed() -> None:
    found = may_measure_now(checked(nacl=0.7700), FIVE + timedelta(hours=1))
    assert (found.allowed, found.hours_left) == (False, 0)
    assert any("NaCl reads high" in reason for reason in found.reasons)


def test_an_ended_check_says_when_it_ended() -> None:
    end = checked(interval_h=8).until
    assert may_measure_now(checked(interval_h=8), end).allowed
    found = may_measure_now(checked(interval_h=8), end + timedelta(seconds=1))
    assert (found.allowed, found.hours_left) == (False, 0)
    assert "ended at 12:50" in found.reasons[0]


def test_times_are_told_in_the_zone_of_the_moment_and_with_the_day_where_it_is_another() -> None:
    zone = timezone(timedelta(hours=1))
    assert (
        "ended at 13:50" in may_measure_now(checked(interval_h=8), datetime(2026, 11, 24, 15, tzinfo=zone)).reasons[0]
    )
    tomorrow = may_measure_now(checked(interval_h=8), datetime(2026, 11, 25, 7, tzinfo=zone))
    assert "ended at 2026-11-24 13:50" in tomorrow.reasons[0]


def test_a_check_that_comes_later_protects_nothing() -> None:
    found = may_measure_now(checked(), FIVE - timedelta(minutes=1))
    assert not found.allowed
    assert "after the moment" in found.reasons[0]


@pytest.mark.parametrize(("cleaned", "allowed"), [(-30, True), (0, True), (30, False), (90, True)])
def test_a_cleaning_asks_for_a_check_after_it(cleaned: int, allowed: bool) -> None:
    """Asked at 06:00: cleanings before the check, at its end, after it, and one that is still to come."""
    found = may_measure_now(checked(), FIVE + timedelta(hours=1), cleaned_at=FIVE + timedelta(minutes=cleaned))
    assert found.allowed is allowed
    if not allowed:
        assert "cleaned at 05:30" in found.reasons[0]


@pytest.mark.parametrize(
    ("value", "guard", "allowed"),
    [("0.75", "0", True), ("0.76", "0", False), ("0.30", "0", False), ("0.33", "0.01", False)],
)
def test_the_limits_with_their_guard_must_lie_between_passed_references(value: str, guard: str, allowed: bool) -> None:
    found = may_measure_now(checked(), FIVE, (Limit(Decimal(value), "<="),), Decimal(guard))
    assert found.allowed is allowed
    assert found.hours_left > 23
    if not allowed:
        assert found.reasons[0].startswith("Not bracketed")
        assert value in found.reasons[0]


def test_everything_against_it_is_said_at_once() -> None:
    late = FIVE + timedelta(hours=30)
    found = may_measure_now(checked(nacl=0.77), late, UPPER, cleaned_at=late - timedelta(hours=1))
    said = " ".join(found.reasons)
    assert all(words in said for words in ("does not let", "NaCl reads high", "ended at", "cleaned at"))


def test_one_reference_alone_brackets_nothing() -> None:
    alone = replace(checked(), covers_a_w=None)
    assert "fewer than two" in may_measure_now(alone, FIVE, UPPER).reasons[0]


def test_a_time_without_an_offset_is_refused() -> None:
    with pytest.raises(InputError, match="moment"):
        may_measure_now(checked(), FIVE.replace(tzinfo=None))
    with pytest.raises(InputError, match="cleaned_at"):
        may_measure_now(checked(), FIVE, cleaned_at=FIVE.replace(tzinfo=None))

"""Standing and bracketing: range, until when, and what a passed check may speak about."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from isohume.bench.assurance import Check, CheckReading, bracket_limits, bracket_value, judge_check, standing
from isohume.foundation.quantity import InputError, Limit

MORNING = datetime(2026, 9, 15, 6, 5, tzinfo=UTC)


def check(*pairs: tuple[str, float], at: datetime = MORNING) -> Check:
    """A check of single readings, five minutes apart, the last at `at`."""
    count = len(pairs)
    return judge_check(
        CheckReading(s, None, 25.0, a_w, at - timedelta(minutes=5 * (count - 1 - i)))
        for i, (s, a_w) in enumerate(pairs)
    )


GOOD = check(("MgCl2", 0.3285), ("Mg(NO3)2", 0.5290))
AT_MOST = lambda text: (Limit(Decimal(text), "<="),)  # noqa: E731
W = Decimal("0.007")


def test_a_passed_check_gives_a_range_and_an_end() -> None:
    stand = standing(GOOD)
    assert stand.may_measure
    assert stand.covers_time(MORNING)
    assert stand.covers_time(MORNING + timedelta(hours=23))
    assert not stand.covers_time(MORNING + timedelta(hours=25))
    assert not stand.covers_time(MORNING - timedelta(minutes=1))
    assert "No closing check" in stand.reasons[-1]


def test_a_failed_check_or_a_single_reference_may_not_measure() -> None:
    assert not standing(check(("MgCl2", 0.3285), ("NaCl", 0.741))).may_measure
    single = standing(check(("NaCl", 0.753)))
    assert not single.may_measure
    assert "no range" in " ".join(single.reasons)


def test_a_closing_check_protects_or_withdraws() -> None:
    evening = MORNING + timedelta(hours=9)
    passed = standing(GOOD, check(("MgCl2", 0.3280), ("Mg(NO3)2", 0.5285), at=evening))
    assert passed.may_measure
    assert passed.closing_passed
    failed = standing(GOOD, check(("MgCl2", 0.3185), ("Mg(NO3)2", 0.5190), at=evening))
    assert not failed.may_measure
    assert "not protected" in " ".join(failed.reasons)


def test_a_closing_check_before_the_opening_one_is_refused() -> None:
    with pytest.raises(InputError, match="after the opening check"):
        standing(GOOD, check(("MgCl2", 0.328), ("Mg(NO3)2", 0.529), at=MORNING - timedelta(hours=3)))


def test_a_failed_check_that_began_before_the_opening_one_ended_still_condemns() -> None:
    overlapping = MORNING + timedelta(minutes=4)
    timed = check(("MgCl2", 0.3280), ("Mg(NO3)2", 0.5285), at=overlapping)
    assert timed.last_read_at >= GOOD.last_read_at > timed.first_read_at
    with pytest.raises(InputError, match="after the opening check"):
        standing(GOOD, timed)
    failed = standing(GOOD, check(("MgCl2", 0.3185), ("Mg(NO3)2", 0.5190), at=overlapping))
    assert not failed.may_measure
    assert "not protected" in " ".join(failed.reasons)


def test_a_limit_above_the_references_is_not_bracketed_above() -> None:
    """Plant A: the specification needs 0.65, only references at 0.33 and 0.53 have passed."""
    found = bracket_limits(GOOD.covers_a_w, AT_MOST("0.65"), W)
    assert not found.bracketed
    assert "not bracketed above" in found.reasons[0]


def test_the_guard_needs_its_reference_too() -> None:
    """A reference between limit and acceptance limit does not bracket: 0.3279 stands inside 0.325 to 0.335."""
    covers = check(("MgCl2", 0.3285), ("NaCl", 0.753)).covers_a_w
    assert not bracket_limits(covers, AT_MOST("0.33"), W).bracketed
    assert bracket_limits(covers, AT_MOST("0.336"), W).bracketed


def test_a_dry_reading_far_below_a_maximum_is_allowed_with_a_wider_u() -> None:
    limits = AT_MOST("0.35")
    assert bracket_limits(GOOD.covers_a_w, limits, W).bracketed
    assert GOOD.covers_a_w is not None
    found = bracket_value(Decimal("0.12"), GOOD, GOOD.covers_a_w, limits)
    assert found.bracketed
    assert found.u_widening > 0.001
    assert "safe side" in found.reasons[0]


def test_the_widening_grows_with_the_distance_and_is_zero_between_references() -> None:
    assert GOOD.covers_a_w is not None
    far, near, inside = (
        bracket_value(Decimal(y), GOOD, GOOD.covers_a_w, AT_MOST("0.35")).u_widening for y in ("0.05", "0.30", "0.40")
    )
    assert far > near > 0
    assert inside == 0


def test_the_same_with_a_minimum_is_refused() -> None:
    limits = (Limit(Decimal("0.10"), ">="), *AT_MOST("0.35"))
    found = bracket_limits(GOOD.covers_a_w, limits, W)
    assert not found.bracketed
    assert "not bracketed below" in found.reasons[0]


def test_a_reading_beyond_the_references_on_the_unsafe_side_is_refused() -> None:
    assert GOOD.covers_a_w is not None
    found = bracket_value(Decimal("0.60"), GOOD, GOOD.covers_a_w, AT_MOST("0.50"))
    assert not found.bracketed
    assert "unsafe side" in found.reasons[0]


def test_no_range_brackets_nothing() -> None:
    assert not bracket_limits(None, AT_MOST("0.35"), W).bracketed


def test_every_reading_of_a_check_needs_its_time() -> None:
    timed = CheckReading("MgCl2", None, 25.0, 0.3285, MORNING)
    with pytest.raises(InputError, match="a time for every reading"):
        standing(judge_check([timed, CheckReading("NaCl", None, 25.0, 0.753)]))
    with pytest.raises(InputError, match=r"closing_check\.read_at"):
        standing(GOOD, judge_check([CheckReading("NaCl", None, 25.0, 0.753)]))


def test_a_mean_that_hides_a_failed_reading_gives_no_standing() -> None:
    scattered = check(("MgCl2", 0.3285), ("NaCl", 0.775), ("NaCl", 0.731))
    assert "a single reading is off" in " ".join(scattered.reasons)
    assert not standing(scattered).may_measure
    pooled = check(("MgCl2", 0.3285), ("NaCl", 0.741), ("NaCl", 0.7535), ("NaCl", 0.7535), ("NaCl", 0.7535))
    assert not standing(pooled).may_measure


def test_a_closing_check_brackets_only_what_was_read_before_it() -> None:
    noon, evening = MORNING + timedelta(hours=6), MORNING + timedelta(hours=12)
    stand = standing(GOOD, check(("MgCl2", 0.3280), ("Mg(NO3)2", 0.5285), at=noon))
    before, after = MORNING + timedelta(hours=1), evening
    assert stand.brackets(before)
    assert not stand.brackets(after)
    assert stand.as_json((before,))["bracketed_by_closing_check"] is True
    assert stand.as_json((before, after))["bracketed_by_closing_check"] is False
    single = standing(GOOD, check(("MgCl2", 0.3280), at=noon))
    assert not single.brackets(before)
    assert "brackets no readings" in " ".join(single.reasons)

"""An adjustment recorded late leaves no check on record that stands on a correction it ended."""

from __future__ import annotations

from datetime import timedelta

import pytest
from tests.outlets.site import make
from tests.outlets.site.adjustments.bench import LOW, NOW, Morning

from isohume.outlets.site.adjustments.actions.record_adjustment import RecordAdjustment
from isohume.outlets.site.adjustments.models import InstrumentAdjustment
from isohume.outlets.site.adjustments.queries import correction_in_force
from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import gate
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.people.roles import MANAGER

MINUTE = timedelta(minutes=1)
BEGAN = NOW - timedelta(hours=2, minutes=50)


def test_a_service_before_a_check_that_was_judged_with_the_correction_is_refused(morning: Morning) -> None:
    """Corrected checks at 60 and 80 minutes, a service at 70, told at 95: the second one stands on nothing."""
    as_found = morning.fail_carefully(BEGAN)
    morning.correct(as_found, BEGAN + 55 * MINUTE)
    first, second = (morning.check(BEGAN + minutes * MINUTE, LOW) for minutes in (60, 80))
    with pytest.raises(Refused, match=f"Check {second.pk} was read after this moment and judged with the correction"):
        service(morning, first)
    with pytest.raises(Refused, match="void it with its cause first, or give the true time"):
        service(morning, first)
    assert correction_in_force(morning.instrument, BEGAN + 96 * MINUTE) is not None
    other = make.make_person(morning.site, MANAGER, username="mona")
    perform(VoidCheck(second, "read after the service, judged with the correction"), By(other, BEGAN + 95 * MINUTE))
    service(morning, first)
    assert correction_in_force(morning.instrument, BEGAN + 96 * MINUTE) is None
    assert not gate(morning.instrument, BEGAN + 96 * MINUTE).allowed


def service(morning: Morning, as_found: Check) -> InstrumentAdjustment:
    """What was done at minute 70, told at minute 95."""
    told = RecordAdjustment(
        morning.instrument, kind="service", as_found=as_found, what="fan replaced", done_by="the maker",
        reason="noise", at=(BEGAN + 70 * MINUTE).isoformat(),
    )  # fmt: skip
    return perform(told, morning.by(BEGAN + 95 * MINUTE))


def test_an_adjustment_between_the_readings_of_a_check_is_refused(morning: Morning) -> None:
    """The check would stand with half its readings on the scale before."""
    first = morning.check(BEGAN + 40 * MINUTE)
    between = morning.check(BEGAN + 69 * MINUTE)
    with pytest.raises(Refused, match=f"Readings of check {between.pk} stand on both sides of"):
        service(morning, first)


def test_where_nothing_was_corrected_the_check_after_it_is_the_one_as_left(morning: Morning) -> None:
    """Told late, but nothing on record stands on what it ended."""
    first = morning.check(BEGAN + 40 * MINUTE)
    left = morning.check(BEGAN + 80 * MINUTE)
    service(morning, first)
    now = gate(morning.instrument, BEGAN + 96 * MINUTE)
    assert (now.allowed, now.check) == (True, left)

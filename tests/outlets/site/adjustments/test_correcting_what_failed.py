"""A correction rests on all that failed, and what it cannot be asked about stands against nothing."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from tests.outlets.site import make
from tests.outlets.site.adjustments.bench import LOW, NOW, Morning

from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import gate
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.register.models import Bottle

MINUTE = timedelta(minutes=1)
BEGAN = NOW - timedelta(hours=2, minutes=50)


def read(morning: Morning, at: datetime, kind: str, *pairs: tuple[Bottle, str]) -> Check:
    """These bottles, as read."""
    rows = [{"bottle": b, "temperature_c": "25.0", "a_w": a_w, "read_at": at.isoformat()} for b, a_w in pairs]
    return perform(RecordCheck(morning.instrument, kind, morning.method, rows), By(morning.analyst, at + MINUTE))


def test_a_correction_that_leaves_out_a_reference_that_failed_is_refused(morning: Morning) -> None:
    """KCl failed with the others and is not in the correction: no check could ever speak of it again."""
    kcl = make.make_bottle(morning.site, "KCl")
    read(
        morning, BEGAN - 10 * MINUTE, "opening", (morning.nitrate, "0.5200"), (morning.salt, "0.7410"), (kcl, "0.8300")
    )
    morning.check(BEGAN, LOW)
    morning.clean(BEGAN + 20 * MINUTE)
    morning.check(BEGAN + 25 * MINUTE, LOW)
    last = morning.check(BEGAN + 40 * MINUTE, LOW, salt=morning.other_salt)
    with pytest.raises(Refused, match=f"Check {last.pk} did not read KCl saturated, which failed"):
        morning.correct(last, BEGAN + 55 * MINUTE)


def test_a_reference_outside_the_correction_is_not_asked_for(morning: Morning) -> None:
    """A check of KCl alone fails for nothing can be said of it; the correction's own references answer."""
    last = morning.fail_carefully(BEGAN)
    morning.correct(last, BEGAN + 55 * MINUTE)
    assert morning.check(BEGAN + 60 * MINUTE, LOW).passed
    failed = read(morning, BEGAN + 90 * MINUTE, "closing", (make.make_bottle(morning.site, "KCl"), "0.7900"))
    assert not failed.passed
    assert not gate(morning.instrument, BEGAN + 95 * MINUTE).allowed
    assert morning.check(BEGAN + 100 * MINUTE, LOW).left_out == ""
    assert gate(morning.instrument, BEGAN + 110 * MINUTE).allowed

"""An instrument that was out of use has no standing when it comes back: what happened to it meanwhile nobody knows."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from tests.outlets.site.adjustments.bench import LOW, NOW, Morning

from isohume.outlets.site.adjustments.actions.record_adjustment import RecordAdjustment
from isohume.outlets.site.adjustments.queries import adjustment_events, as_left_of, moves_of
from isohume.outlets.site.checks.queries import gate, protecting_check, standings
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.register.actions.return_instrument import ReturnInstrument
from isohume.outlets.site.register.actions.withdraw_instrument import WithdrawInstrument

MINUTE = timedelta(minutes=1)
OPENED = NOW - timedelta(hours=2)


def out_and_back(morning: Morning, at: datetime, back: datetime) -> None:
    """Dropped on the floor, and picked up."""
    perform(WithdrawInstrument(morning.instrument, "dropped on the floor"), morning.by(at))
    perform(ReturnInstrument(morning.instrument, "looks whole"), morning.by(back))


def test_a_returned_instrument_needs_a_new_opening_check(morning: Morning) -> None:
    morning.check(OPENED)
    assert gate(morning.instrument, OPENED + 9 * MINUTE).allowed
    out_and_back(morning, OPENED + 10 * MINUTE, OPENED + 30 * MINUTE)
    later = OPENED + 35 * MINUTE
    now = gate(morning.instrument, later)
    assert not now.allowed
    assert now.reasons[-1] == (
        "OW-1 was returned to use at 2026-09-16 08:30, after its check: "
        "it has no standing until a new opening check passes."
    )
    assert [one.gate for one in standings(morning.site, later)] == [now]
    assert protecting_check(morning.instrument, later) is None
    again = morning.check(OPENED + 40 * MINUTE)
    assert gate(morning.instrument, OPENED + 50 * MINUTE).check == again
    assert gate(morning.instrument, OPENED + 50 * MINUTE).allowed
    assert protecting_check(morning.instrument, OPENED + 50 * MINUTE) == again


def test_nothing_read_while_it_was_out_of_use_is_protected_when_it_is_entered_later(morning: Morning) -> None:
    """The register says that it is in use now; the readings are of the time when it was not."""
    morning.check(OPENED)
    out_and_back(morning, OPENED + 10 * MINUTE, OPENED + 30 * MINUTE)
    meanwhile = gate(morning.instrument, OPENED + 20 * MINUTE)
    assert (meanwhile.allowed, meanwhile.reasons[-1]) == (False, "OW-1 was out of use from 2026-09-16 08:10 on.")
    assert protecting_check(morning.instrument, OPENED + 20 * MINUTE) is None
    morning.check(OPENED + 15 * MINUTE)  # nor is a check, however good, that was read then
    assert not gate(morning.instrument, OPENED + 25 * MINUTE).allowed
    assert not gate(morning.instrument, OPENED + 35 * MINUTE).allowed
    with pytest.raises(Refused, match="OW-1 was returned to use at 2026-09-16 08:30, between these readings"):
        morning.check(OPENED + 28 * MINUTE)


def test_being_out_of_use_is_no_change_of_scale_by_itself(morning: Morning) -> None:
    """The as-left check of an adjustment may come after it, and the walk is known by it."""
    found = morning.fail_carefully(OPENED)
    made = morning.adjust(found, OPENED + 55 * MINUTE)
    out_and_back(morning, OPENED + 60 * MINUTE, OPENED + 70 * MINUTE)
    left = morning.check(OPENED + 80 * MINUTE)
    assert as_left_of(made) == left
    assert [event.kind for event in adjustment_events(morning.instrument)] == ["adjusted"]
    [move] = moves_of(morning.instrument)
    assert (move.low_shift, move.high_shift) == pytest.approx((-LOW["Mg(NO3)2"], -LOW["NaCl"]), abs=1e-9)


def test_a_service_while_it_was_out_of_use_may_be_recorded_after_its_return(morning: Morning) -> None:
    found = morning.check(OPENED, LOW)
    perform(WithdrawInstrument(morning.instrument, "reads low"), morning.by(OPENED + 10 * MINUTE))
    perform(ReturnInstrument(morning.instrument, "serviced"), morning.by(OPENED + 40 * MINUTE))
    told = RecordAdjustment(
        morning.instrument, kind="service", as_found=found, what="fan replaced", done_by="the maker", reason="low",
        at=(OPENED + 20 * MINUTE).isoformat(),
    )  # fmt: skip
    made = perform(told, morning.by(OPENED + 45 * MINUTE))
    assert (made.as_found, [event.kind for event in adjustment_events(morning.instrument)]) == (found, ["serviced"])
    assert "returned to use" in gate(morning.instrument, OPENED + 50 * MINUTE).reasons[-1]
    left = morning.check(OPENED + 60 * MINUTE)
    assert as_left_of(made) == left
    assert gate(morning.instrument, OPENED + 70 * MINUTE).check == left


def test_after_its_return_it_is_checked_before_it_is_adjusted_or_corrected(morning: Morning) -> None:
    """What it read before it was dropped is not as found."""
    found = morning.fail_carefully(OPENED)
    out_and_back(morning, OPENED + 55 * MINUTE, OPENED + 60 * MINUTE)
    with pytest.raises(Refused, match="was not checked since yet: check it first"):
        morning.adjust(found, OPENED + 65 * MINUTE)
    with pytest.raises(Refused, match="OW-1 was taken out of use: check it first"):
        morning.correct(found, OPENED + 65 * MINUTE)

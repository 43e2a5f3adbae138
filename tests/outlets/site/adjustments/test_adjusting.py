"""Adjusting an instrument: never before the careful steps, as found and as left kept, no standing in between."""

from __future__ import annotations

from datetime import timedelta

import pytest
from tests.outlets.site import make
from tests.outlets.site.adjustments.bench import LOW, NOW, Morning

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.adjustments.actions.log_fresh_portion import LogFreshPortion
from isohume.outlets.site.adjustments.actions.record_adjustment import RecordAdjustment
from isohume.outlets.site.adjustments.models import FreshPortion
from isohume.outlets.site.adjustments.queries import adjustment_events, as_left_of, moves_of
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import gate, protecting_check, standings
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.register.actions.withdraw_instrument import WithdrawInstrument

SEVEN = NOW - timedelta(hours=2)
MINUTE = timedelta(minutes=1)
REPORT = [{"reference": "NaCl 0.753", "as_found": "0.7411", "as_left": "0.7531"}, {}]
CALIBRATED = {"certificate": "C-118", "readings": REPORT}


def test_failing_twice_does_not_let_one_adjust_before_a_cleaning_is_logged(morning: Morning) -> None:
    """Row 3 of the job."""
    morning.check(SEVEN, LOW)
    failed = morning.check(SEVEN + 10 * MINUTE, LOW)
    with pytest.raises(Refused, match="No cleaning is logged after check 1 failed") as refused:
        morning.adjust(failed, SEVEN + 20 * MINUTE)
    assert any("Only one lot" in reason for reason in refused.value.reasons)
    morning.clean(SEVEN + 22 * MINUTE)
    with pytest.raises(Refused, match="No check failed after the cleaning"):
        morning.adjust(failed, SEVEN + 24 * MINUTE)
    again = morning.check(SEVEN + 25 * MINUTE, LOW)
    with pytest.raises(Refused, match="read a second lot first"):
        morning.adjust(again, SEVEN + 34 * MINUTE)
    last = morning.check(SEVEN + 40 * MINUTE, LOW, salt=morning.other_salt)
    assert morning.adjust(last, SEVEN + 50 * MINUTE).as_found == last


def test_a_third_reading_needs_a_step(morning: Morning) -> None:
    failed = morning.check(SEVEN, LOW)
    morning.check(SEVEN + 10 * MINUTE, LOW)
    with pytest.raises(Refused, match="Check 1 failed and check 2 was read after it with nothing changed"):
        morning.check(SEVEN + 20 * MINUTE)
    poured = LogFreshPortion(failed, morning.salt.scan_code, (SEVEN + 25 * MINUTE).isoformat())
    perform(poured, By(morning.analyst, SEVEN + 25 * MINUTE))
    assert morning.check(SEVEN + 30 * MINUTE).passed
    assert FreshPortion.objects.get().failed_check == failed


def test_a_fresh_portion_belongs_to_an_open_failure_and_comes_after_it(morning: Morning) -> None:
    failed = morning.check(SEVEN, LOW)
    early = LogFreshPortion(failed, morning.salt.scan_code, (SEVEN - MINUTE).isoformat())
    with pytest.raises(InputError, match="after check 1 failed"):
        perform(early, By(morning.analyst, SEVEN + 9 * MINUTE))
    with pytest.raises(InputError, match="bottle"):
        perform(LogFreshPortion(failed, ""), By(morning.analyst, SEVEN + 9 * MINUTE))
    morning.check(SEVEN + 10 * MINUTE)
    with pytest.raises(Refused, match="passed again since"):
        perform(LogFreshPortion(failed, morning.salt.scan_code), By(morning.analyst, SEVEN + 19 * MINUTE))


def test_after_adjusting_nothing_is_measured_until_the_as_left_check_passes(morning: Morning) -> None:
    good = morning.check(SEVEN - 30 * MINUTE)
    last = morning.fail_carefully(SEVEN)
    made = morning.adjust(last, SEVEN + 60 * MINUTE)
    during = gate(morning.instrument, SEVEN + 65 * MINUTE)
    assert not during.allowed
    assert any("OW-1 was adjusted at 2026-09-16 09:00, after its check" in why for why in during.reasons)
    assert [s.gate.reasons for s in standings(morning.site, SEVEN + 65 * MINUTE)] == [during.reasons]
    assert protecting_check(morning.instrument, SEVEN + 65 * MINUTE) is None
    left = morning.check(SEVEN + 70 * MINUTE)
    assert gate(morning.instrument, SEVEN + 80 * MINUTE).allowed
    assert (as_left_of(made), made.as_found) == (left, last)
    assert good.may_measure


def test_an_adjustment_that_does_not_help_is_cleaned_after_before_the_next(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    morning.adjust(last, SEVEN + 60 * MINUTE)
    with pytest.raises(Refused, match="not read as left yet"):
        morning.adjust(last, SEVEN + 62 * MINUTE)
    left = morning.check(SEVEN + 70 * MINUTE, {"NaCl": 0.009})
    with pytest.raises(Refused, match="No cleaning is logged after the last adjustment"):
        morning.adjust(left, SEVEN + 80 * MINUTE)


def test_the_walk_is_what_the_references_were_moved_by(morning: Morning) -> None:
    """As found -0.0090 and -0.0120, as left -0.0005 and +0.0010: moved by +0.0085 and +0.0130."""
    last = morning.fail_carefully(SEVEN)
    morning.adjust(last, SEVEN + 60 * MINUTE)
    assert moves_of(morning.instrument) == []  # nothing is known before the as-left check
    morning.check(SEVEN + 70 * MINUTE, {"Mg(NO3)2": -0.0005, "NaCl": 0.0010})
    [move] = moves_of(morning.instrument)
    assert (move.low_shift, move.high_shift) == pytest.approx((0.0085, 0.0130), abs=1e-9)
    assert (move.low, move.high) == pytest.approx((0.529, 0.753), abs=0.0005)


def test_charts_find_the_events(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    made = morning.adjust(last, SEVEN + 60 * MINUTE)
    assert [(e.at, e.kind, e.words) for e in adjustment_events(morning.instrument)] == [
        (made.at, "adjusted", "OW-1 was adjusted")
    ]


def test_a_service_needs_no_sequence_but_its_as_found(morning: Morning) -> None:
    """Where the instrument was taken out of use before it."""
    with pytest.raises(Refused, match="read one as found first"):
        perform(
            RecordAdjustment(morning.instrument, "service", None, "sensor replaced", "the maker", "yearly"),
            By(morning.manager, SEVEN),
        )
    found = morning.check(SEVEN, LOW)
    perform(WithdrawInstrument(morning.instrument, "reads low"), morning.by(SEVEN + 20 * MINUTE))
    made = morning.adjust(found, SEVEN + 30 * MINUTE, kind="service", done_by="the maker", **CALIBRATED)
    assert made.readings == REPORT[:1]
    assert adjustment_events(morning.instrument).get().anew
    assert trail_of(made.ref)[0].details["walk"] == "begins anew"
    assert not gate(morning.instrument, SEVEN + 31 * MINUTE).allowed


def test_what_is_called_a_service_leaves_nothing_careful_out_while_a_failure_is_open(morning: Morning) -> None:
    """Issue 5, item 2: cleaning cannot be skipped, whatever the adjustment is called."""
    failed = morning.check(SEVEN, LOW)
    with pytest.raises(Refused, match="No cleaning is logged after check 1 failed") as refused:
        morning.adjust(failed, SEVEN + 12 * MINUTE, kind="service", what="turned the span screw", done_by="Mira")
    assert refused.value.reasons[-1] == "For a service without these steps take OW-1 out of use first."
    morning.check(SEVEN + 15 * MINUTE, LOW)
    morning.clean(SEVEN + 25 * MINUTE)
    morning.check(SEVEN + 30 * MINUTE, LOW)
    last = morning.check(SEVEN + 40 * MINUTE, LOW, salt=morning.other_salt)
    assert morning.adjust(last, SEVEN + 50 * MINUTE, kind="service").as_found == last


@pytest.mark.parametrize(
    ("certificate", "done_by", "readings", "why"),
    [
        ("-", "the maker", REPORT, "no calibration certificate"),
        ("see file", "the maker", REPORT, "no calibration certificate"),
        ("C-118", "mira", REPORT, "mira is a person of the plant"),
        ("C-118", "MIRA, by the book", REPORT, "is a person of the plant"),
        ("C-118", "the maker", [], "no figures of the report"),
    ],
)
def test_the_walk_goes_on_where_nobody_answers_for_a_calibration(
    morning: Morning, certificate: str, done_by: str, readings: list[dict[str, str]], why: str
) -> None:
    """Any words in the certificate emptied the sum of all corrections, and with it the cap."""
    good = morning.check(SEVEN)
    given = {"kind": "service", "certificate": certificate, "done_by": done_by, "readings": readings}
    made = morning.adjust(good, SEVEN + 30 * MINUTE, **given)
    assert not adjustment_events(morning.instrument).get().anew
    [line] = trail_of(made.ref)
    assert line.details["walk"].startswith("the walk of all changes together goes on: ")
    assert why in line.details["walk"]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"kind": "repair"}, "kind"),
        ({"what": " "}, "what"),
        ({"done_by": ""}, "done_by"),
        ({"reason": ""}, "reason"),
        ({"kind": "service", "readings": [{"reference": "NaCl", "as_found": "0.74", "as_left": ""}]}, "as_left_1"),
        ({"kind": "service", "readings": [{"reference": "", "as_found": "0.74", "as_left": "0.75"}]}, "reference_1"),
        ({"kind": "service", "readings": [{"reference": "NaCl", "as_found": "74.1", "as_left": "0.75"}]}, "as_found_1"),
    ],
)
def test_what_must_be_said(morning: Morning, changed: dict[str, object], field: str) -> None:
    last = morning.fail_carefully(SEVEN)
    with pytest.raises(InputError) as error:
        morning.adjust(last, SEVEN + 60 * MINUTE, **changed)
    assert error.value.field == field


def test_as_found_is_the_last_check_before(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    with pytest.raises(InputError, match=f"as_found: .*check {last.pk}, the last one before"):
        morning.adjust(Check.objects.earliest("pk"), SEVEN + 60 * MINUTE)


def test_an_adjustment_comes_after_the_check_as_found(morning: Morning) -> None:
    """In the minute of a passed check: it would keep the standing that it had before the adjustment."""
    found = morning.check(SEVEN)
    with pytest.raises(Refused, match="comes after it"):
        morning.adjust(found, found.last_read_at, kind="service")


def test_a_check_stands_on_one_side_of_an_adjustment(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    morning.adjust(last, SEVEN + 60 * MINUTE)
    with pytest.raises(Refused, match="between these readings"):
        morning.check(SEVEN + 58 * MINUTE)


def test_only_a_manager_adjusts_and_the_trail_says_why(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    for person in (morning.analyst, morning.officer, morning.auditor):
        action = RecordAdjustment(morning.instrument, "adjustment", last, "span", "me", "low")
        with pytest.raises(Refused, match="this is for manager"):
            perform(action, By(person, SEVEN + 60 * MINUTE))
    made = morning.adjust(last, SEVEN + 60 * MINUTE)
    [line] = trail_of(made.ref)
    assert (line.said, line.reason) == ("Adjusted an instrument", "reads low")
    assert line.details["as_found"] == last.ref


def test_without_a_failure_it_is_cleaned_first(morning: Morning) -> None:
    """Drift within the limits may be adjusted, but never on a sensor that was not cleaned."""
    found = morning.check(SEVEN, {"Mg(NO3)2": -0.003, "NaCl": -0.003})
    with pytest.raises(Refused, match="was not read after a cleaning"):
        morning.adjust(found, SEVEN + 20 * MINUTE)
    morning.clean(SEVEN + 25 * MINUTE)
    again = morning.check(SEVEN + 30 * MINUTE, {"Mg(NO3)2": -0.003, "NaCl": -0.003})
    assert morning.adjust(again, SEVEN + 45 * MINUTE).as_found == again


def test_another_plant_is_not_touched(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    stranger = make.make_person(make.make_site("elsewhere"), *morning.manager.roles, username="stranger")
    action = RecordAdjustment(morning.instrument, "adjustment", last, "span", "me", "low")
    with pytest.raises(Refused, match="another plant"):
        perform(action, By(stranger, SEVEN + 60 * MINUTE))

"""Start sheet, cleaning, voiding: what they keep, the line they leave, and every refusal."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from tests.outlets.site import make
from tests.outlets.site.checks.day import NOW, Day

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.checks.actions.log_cleaning import LogCleaning
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.roles import ANALYST

GOOD = {
    "room_temperature_c": "22.4",
    "room_rh_percent": "48",
    "warmed_up_since": "2026-09-16T09:10",
    "block_temperature_c": "25.10",
}


def test_a_start_sheet_is_judged_kept_as_typed_and_stands_in_the_trail(day: Day) -> None:
    sheet = perform(FillStartSheet(day.instrument, day.method, **GOOD), day.by())
    assert sheet.may_start
    assert sheet.block_temperature_c == "25.10"
    assert sheet.warmed_up_since == datetime(2026, 9, 16, 8, 10, tzinfo=UTC)  # 09:10 in London
    line = trail_of(day.instrument.ref)[-1]
    assert (line.kind, line.details["room_rh_percent"], line.details["may_start"]) == (
        "start_sheet_filled",
        "48",
        "yes",
    )


def test_a_sheet_that_may_not_start_is_kept_with_its_reasons(day: Day) -> None:
    late = {**GOOD, "warmed_up_since": "2026-09-16T09:45", "block_temperature_c": "26.0"}
    sheet = perform(FillStartSheet(day.instrument, day.method, **late), day.by())
    assert not sheet.may_start
    assert "Warmed up 15 min of 30 min needed" in sheet.reasons[0]
    assert "beyond 0.5 K" in sheet.reasons[1]


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("room_temperature_c", "", "blank"),
        ("room_temperature_c", "72", "degF"),
        ("room_rh_percent", "148", "0 to 100"),
        ("block_temperature_c", "25.1 C", "degrees Celsius"),
        ("warmed_up_since", "2026-09-16T11:00", "a time that has passed"),
        ("warmed_up_since", "early", "ISO 8601"),
    ],
)
def test_a_bad_field_of_the_start_sheet_is_named(day: Day, field: str, typed: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as error:
        perform(FillStartSheet(day.instrument, day.method, **{**GOOD, field: typed}), day.by())
    assert error.value.field == field
    assert not day.instrument.start_sheets.exists()


def test_the_start_sheet_is_refused_by_role_plant_and_use(day: Day) -> None:
    with pytest.raises(Refused, match="this is for analyst, manager"):
        perform(FillStartSheet(day.instrument, day.method, **GOOD), day.by(person=day.auditor))
    elsewhere = make.make_site("elm-mill")
    with pytest.raises(Refused, match="another plant"):
        perform(
            FillStartSheet(day.instrument, day.method, **GOOD),
            By(make.make_person(elsewhere, ANALYST, username="otto"), NOW),
        )
    with pytest.raises(Refused, match="method belongs to another plant"):
        perform(FillStartSheet(day.instrument, make.make_method(elsewhere), **GOOD), day.by())
    day.instrument.in_use = False
    with pytest.raises(Refused, match="out of use"):
        perform(FillStartSheet(day.instrument, day.method, **GOOD), day.by())


def test_a_cleaning_is_logged_at_its_moment(day: Day) -> None:
    cleaning = perform(LogCleaning(day.instrument, " chamber and rim ", "2026-09-16T09:40"), day.by())
    assert (cleaning.what, cleaning.at) == ("chamber and rim", datetime(2026, 9, 16, 8, 40, tzinfo=UTC))
    assert trail_of(cleaning.ref)[-1].said == "Cleaned an instrument"
    assert perform(LogCleaning(day.instrument, "seal"), day.by()).at == NOW


@pytest.mark.parametrize(
    ("what", "at", "field"), [("", "", "what"), ("x" * 301, "", "what"), ("seal", "2026-09-16T12:00", "at")]
)
def test_a_bad_cleaning_is_refused_at_its_field(day: Day, what: str, at: str, field: str) -> None:
    with pytest.raises(InputError) as error:
        perform(LogCleaning(day.instrument, what, at), day.by())
    assert error.value.field == field


def test_a_void_check_stays_with_who_and_why(day: Day) -> None:
    day.start()
    check = day.check()
    perform(VoidCheck(check, "read on a dish without crystals"), day.by(NOW, day.manager))
    check.refresh_from_db()
    assert (check.voided_by, check.void_reason) == (day.manager, "read on a dish without crystals")
    assert check.readings.count() == 2
    assert trail_of(check.ref)[-1].reason == "read on a dish without crystals"


def test_voiding_is_refused_without_cause_twice_by_its_maker_and_by_role(day: Day) -> None:
    day.start()
    check = day.check()
    with pytest.raises(InputError, match="the cause"):
        perform(VoidCheck(check, " "), day.by(NOW, day.manager))
    with pytest.raises(Refused, match="this is for manager"):
        perform(VoidCheck(check, "slurry dry"), day.by())
    perform(VoidCheck(check, "slurry dry"), day.by(NOW, day.manager))
    with pytest.raises(Refused, match="void already"):
        perform(VoidCheck(check, "slurry dry"), day.by(NOW, day.manager))
    own = perform(
        RecordCheck(day.instrument, "opening", day.method, day.rows(NOW - timedelta(minutes=30))),
        day.by(NOW, day.manager),
    )
    with pytest.raises(Refused, match="another manager voids it"):
        perform(VoidCheck(own, "slurry dry"), day.by(NOW, day.manager))


def test_a_failed_check_is_voided_after_its_deviation_and_before_its_repeat(day: Day) -> None:
    day.start()
    failed = day.check(nacl="0.7400")
    void = VoidCheck(failed, "slurry dry")
    with pytest.raises(Refused, match=r"Deviation 1 \(failed check\) of this check is open"):
        perform(void, day.by(NOW, day.manager))
    failed.deviations.update(closed_at=NOW)
    repeat = day.check(NOW)
    with pytest.raises(Refused, match=f"Check {repeat.pk} of OW-1 came after it"):
        perform(void, day.by(NOW + timedelta(minutes=20), day.manager))
    perform(VoidCheck(repeat, "slurry dry too"), day.by(NOW + timedelta(minutes=20), day.manager))
    assert perform(void, day.by(NOW + timedelta(minutes=20), day.manager)).voided_by == day.manager

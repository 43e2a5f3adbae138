"""A check as it is recorded: judged, kept as found, refused for what is not as it must be, answered where it failed."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.outlets.site import make
from tests.outlets.site.checks.day import MGCL2_AT_25, NACL_AT_25, NOW, Day

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.checks.actions.log_cleaning import LogCleaning
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.roles import ANALYST
from isohume.outlets.site.register.models import BalanceRecord

AT = NOW - timedelta(hours=1)


def test_a_good_check_lets_the_instrument_measure_between_its_references(day: Day) -> None:
    day.start()
    check = day.check()
    assert check.passed
    assert check.may_measure
    # the printed values of Greenspan 1977 at 25 degC, to one in their last digit
    assert check.covers_low == pytest.approx(MGCL2_AT_25, abs=0.0001)
    assert check.covers_high == pytest.approx(NACL_AT_25, abs=0.0001)
    assert check.until == check.first_read_at + timedelta(hours=24)
    assert [r.a_w for r in check.readings.order_by("pk")] == ["0.3281", "0.7524"]
    assert not Deviation.objects.exists()


def test_the_check_leaves_its_line_and_stands_in_the_trail_of_instrument_and_bottles(day: Day) -> None:
    day.start()
    check = day.check()
    for thing in (check, day.instrument, day.nacl, day.nacl.solution_lot):
        lines = [line for line in trail_of(thing.ref) if line.kind == "check_recorded"]
        assert len(lines) == 1, thing.ref
    assert lines[0].details["readings"][1]["a_w"] == "0.7524"
    assert lines[0].by == "Ada"


def test_a_failed_check_is_kept_takes_the_standing_and_opens_a_deviation(day: Day) -> None:
    day.start()
    check = day.check(nacl="0.9100")
    assert (check.passed, check.may_measure) == (False, False)
    deviation = Deviation.objects.get()
    assert (deviation.kind, deviation.failed_check) == ("failed check", check)
    assert "NaCl reads high" in deviation.what
    assert any(line.kind == "deviation_opened" for line in trail_of(check.ref))


def test_one_scattered_reading_fails_the_check_though_the_mean_is_within(day: Day) -> None:
    day.start()
    rows = [*day.rows(AT, nacl="0.7590"), *day.rows(AT, nacl="0.7468")]
    check = perform(RecordCheck(day.instrument, "opening", day.method, rows), day.by())
    assert check.result["verdict"] == "pass"
    assert not check.passed
    assert "a single reading is off" in Deviation.objects.get().what


def test_one_reference_alone_passes_and_gives_no_range(day: Day) -> None:
    day.start()
    check = perform(RecordCheck(day.instrument, "opening", day.method, day.rows(AT)[:1]), day.by())
    assert (check.passed, check.may_measure, check.covers_low) == (True, False, None)


def test_a_difference_that_fits_another_reference_is_asked_about(day: Day) -> None:
    day.start()
    # the magnesium chloride dish read where the sodium chloride dish was expected
    check = day.check(nacl="0.3283")
    assert len(check.hints) == 1
    assert "does NaCl-26-04 / 1 hold MgCl2 saturated?" in check.hints[0]
    assert check.hints[0] in Deviation.objects.get().what


def test_a_difference_that_fits_no_other_reference_gives_no_hint(day: Day) -> None:
    day.start()
    assert day.check(nacl="0.7420").hints == []


def test_the_last_cleaning_since_the_check_before_is_tied_to_the_check(day: Day) -> None:
    day.start()
    perform(LogCleaning(day.instrument, "chamber wiped", (AT - timedelta(hours=3)).isoformat()), day.by())
    last = perform(LogCleaning(day.instrument, "rim and seal", (AT - timedelta(minutes=20)).isoformat()), day.by())
    first = day.check()
    assert first.cleaning == last
    assert day.check(NOW, kind="closing").cleaning is None
    assert any(line.kind == "check_recorded" for line in trail_of(last.ref))


def test_a_closing_check_needs_an_opening_one(day: Day) -> None:
    with pytest.raises(Refused, match="no opening check of OW-1 before these readings"):
        day.check(kind="closing")


def test_without_a_start_sheet_of_the_day_there_is_no_opening_check(day: Day) -> None:
    day.start(NOW - timedelta(days=1))
    with pytest.raises(Refused, match="no start sheet of OW-1 for this day"):
        day.check()


def test_a_start_sheet_that_may_not_start_refuses_the_opening_check_with_its_reasons(day: Day) -> None:
    day.start(block_temperature_c="26.4")
    with pytest.raises(Refused, match="does not let OW-1 start") as refused:
        day.check()
    assert any("beyond 0.5 K" in reason for reason in refused.value.reasons)
    day.start(NOW - timedelta(minutes=90))
    assert day.check().passed


def test_the_start_sheet_of_another_method_does_not_count(day: Day) -> None:
    day.start()
    other = make.make_method(day.site, "Water activity of fillings, BM-15")
    make.make_competent(day.analyst, other)
    with pytest.raises(Refused, match="no start sheet"):
        perform(RecordCheck(day.instrument, "opening", other, day.rows(AT)), day.by())


def test_an_instrument_out_of_use_is_not_checked(day: Day) -> None:
    day.start()
    day.instrument.in_use, day.instrument.out_of_use_reason = False, "fan hums"
    day.instrument.save()
    with pytest.raises(Refused, match=r"OW-1 is out of use \(fan hums\)"):
        day.check()


def test_a_lapsed_competence_refuses_the_check(day: Day) -> None:
    day.start()
    day.analyst.competences.update(lapses_on=date(2026, 9, 15))
    with pytest.raises(Refused, match="lapsed on 2026-09-15"):
        day.check()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"opened_at": None}, "Bottle 1 is not opened"),
        ({"opened_at": NOW}, "opened at 2026-09-16 10:00, after this reading"),
        ({"discard_on": date(2026, 9, 15)}, "to be discarded on 2026-09-15"),
        ({"discarded_at": NOW - timedelta(days=2)}, "Bottle 1 is discarded"),
    ],
)
def test_a_bottle_that_may_not_be_read_refuses_the_check(day: Day, change: dict[str, object], said: str) -> None:
    day.start()
    for field, value in change.items():
        setattr(day.nacl, field, value)
    day.nacl.save()
    with pytest.raises(Refused, match=said):
        day.check()
    assert not Check.objects.exists()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"expires_on": date(2026, 9, 15)}, "NaCl-26-04 expired on 2026-09-15"),
        ({"withdrawn_reason": "salt was damp"}, "is withdrawn: salt was damp"),
    ],
)
def test_a_lot_that_may_not_be_read_refuses_the_check(day: Day, change: dict[str, object], said: str) -> None:
    day.start()
    lot = day.nacl.solution_lot
    for field, value in change.items():
        setattr(lot, field, value)
    lot.save()
    with pytest.raises(Refused, match=said):
        day.check()


def test_the_last_day_of_a_lot_and_of_a_bottle_still_counts(day: Day) -> None:
    day.start()
    day.nacl.discard_on = date(2026, 9, 16)
    day.nacl.save()
    day.nacl.solution_lot.expires_on = date(2026, 9, 16)
    day.nacl.solution_lot.save()
    assert day.check().passed


def test_a_lot_whose_balance_failed_its_check_is_not_read(day: Day) -> None:
    day.start()
    BalanceRecord.objects.create(
        solution_lot=day.nacl.solution_lot,
        balance="B-1",
        salt_g="36.0",
        water_g="100.0",
        check_nominal_g="100.0000",
        check_read_g="100.0300",
        check_limit_g="0.0010",
        check_passed=False,
        weighed_at=NOW,
        weighed_by=day.manager,
    )
    with pytest.raises(Refused, match="balance check of lot NaCl-26-04 failed"):
        day.check()


@pytest.mark.parametrize(
    ("row", "field", "typed", "said"),
    [
        (1, "a_w", "75.2", "ERH in percent"),
        (0, "a_w", "", "blank"),
        (1, "temperature_c", "", "blank"),
        (1, "temperature_c", "77.0", "degF"),
        (1, "read_at", (NOW + timedelta(hours=1)).isoformat(), "a time that has passed"),
        (0, "bottle", None, "a bottle of a reference solution"),
    ],
)
def test_a_bad_field_is_named_with_its_row(day: Day, row: int, field: str, typed: object, said: str) -> None:
    day.start()
    rows = day.rows(AT)
    rows[row][field] = typed
    with pytest.raises(InputError, match=said) as error:
        perform(RecordCheck(day.instrument, "opening", day.method, rows), day.by())
    assert error.value.field == f"{field}_{row + 1}"
    assert not Check.objects.exists()


def test_a_temperature_without_a_published_value_is_refused_at_its_row(day: Day) -> None:
    day.start()
    kbr = make.make_bottle(day.site, "NaBr", molality="0.5")
    rows = [{"bottle": kbr, "temperature_c": "35.0", "a_w": "0.98", "read_at": AT.isoformat()}]
    with pytest.raises(InputError, match=r"20 to 30") as error:
        perform(RecordCheck(day.instrument, "opening", day.method, rows), day.by())
    assert error.value.field == "temperature_c_1"


def test_blank_rows_are_left_out_and_keep_the_numbers_of_the_others(day: Day) -> None:
    day.start()
    blank = {"bottle": None, "temperature_c": "", "a_w": " ", "read_at": ""}
    mgcl2, nacl = day.rows(AT)
    check = perform(RecordCheck(day.instrument, "opening", day.method, [mgcl2, blank, nacl]), day.by())
    assert check.readings.count() == 2
    nacl["a_w"] = "x"
    with pytest.raises(InputError) as error:
        perform(RecordCheck(day.instrument, "opening", day.method, [mgcl2, blank, nacl]), day.by())
    assert error.value.field == "a_w_3"
    with pytest.raises(InputError, match="at least one reading"):
        perform(RecordCheck(day.instrument, "opening", day.method, [blank]), day.by())


def test_role_plant_and_kind_are_held(day: Day) -> None:
    day.start()
    action = RecordCheck(day.instrument, "opening", day.method, day.rows(AT))
    with pytest.raises(Refused, match="this is for analyst, manager"):
        perform(action, By(day.auditor, NOW))
    other = make.make_site("elm-mill")
    with pytest.raises(Refused, match="another plant"):
        perform(action, By(make.make_person(other, ANALYST, username="otto"), NOW))
    with pytest.raises(InputError, match="one of opening, closing"):
        perform(RecordCheck(day.instrument, "midday", day.method, day.rows(AT)), day.by())
    foreign = {**day.rows(AT)[0], "bottle": make.make_bottle(other, "KCl")}
    with pytest.raises(Refused, match="bottle belongs to another plant"):
        perform(RecordCheck(day.instrument, "opening", day.method, [foreign]), day.by())


def test_plant_time_without_an_offset_is_read_as_the_plants_own(day: Day) -> None:
    day.start()
    rows = day.rows(AT)
    for row in rows:
        row["read_at"] = "2026-09-16T09:30"  # London is one hour ahead of UTC in September
    check = perform(RecordCheck(day.instrument, "opening", day.method, rows), day.by())
    check.refresh_from_db()
    assert check.first_read_at.isoformat() == "2026-09-16T08:30:00+00:00"

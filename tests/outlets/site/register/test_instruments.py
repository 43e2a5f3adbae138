"""Adding, changing, withdrawing and returning an instrument."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from tests.outlets.site import make

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import ADMINISTRATOR, ANALYST, DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.add_instrument import AddInstrument
from isohume.outlets.site.register.actions.change_instrument import ChangeInstrument
from isohume.outlets.site.register.actions.return_instrument import ReturnInstrument
from isohume.outlets.site.register.actions.withdraw_instrument import WithdrawInstrument
from isohume.outlets.site.register.models import Instrument

LONG_AGO = datetime(2026, 6, 18, 5, 45, tzinfo=UTC)
GOOD = {
    "called": "OW-3",
    "serial": "DP-0932",
    "principle": "dew-point measurement",
    "measures_surface_temperature": "yes",
    "location": "Bench 2, left",
    "warm_up_min": "20",
    "check_limit": "0.0050",
    "u_instrument": "0.0015",
    "calibration_due": "2027-02-10",
}


@pytest.fixture
def manager(site_db: Path) -> Person:
    return make.make_person(make.make_site(), MANAGER, username="imoss")


def test_an_instrument_is_added_as_typed_at_any_past_time(manager: Person) -> None:
    made = perform(AddInstrument(manager.site, **GOOD), By(manager, LONG_AGO))
    kept = Instrument.objects.get(pk=made.pk)
    assert (kept.check_limit, kept.warm_up_min, kept.in_use) == ("0.0050", 20, True)
    assert kept.calibration_due == date(2027, 2, 10)
    (line,) = trail_of(made.ref)
    assert (line.kind, line.said, line.by) == ("instrument_added", "Added an instrument", "Imoss")
    assert line.at == "2026-06-18T05:45:00+00:00"
    assert line.details["check_limit"] == "0.0050"


@pytest.mark.parametrize(
    ("field", "typed", "allowed"),
    [
        ("called", "", "name on the bench"),
        ("called", "OW–3", "other dashes as -"),
        ("called", "ow-1", "no other has"),
        ("serial", "OW-1-0417", "no other has"),
        ("serial", " ", "serial number"),
        ("principle", "hair hygrometer", "dew-point measurement"),
        ("measures_surface_temperature", "maybe", "yes or no"),
        ("warm_up_min", "-1", "0 to 1440"),
        ("warm_up_min", "half an hour", "0 to 1440"),
        ("check_limit", "0.05", "at most 0.02"),
        ("check_limit", "0", "at least 0.000001"),
        ("u_instrument", "0.5", "at most 0.02"),
        ("calibration_due", "10.02.2027", "such as 2026-11-23"),
        ("location", "a\nb", "one line"),
    ],
)
def test_a_bad_field_is_named_with_what_is_allowed(manager: Person, field: str, typed: str, allowed: str) -> None:
    make.make_instrument(manager.site)
    with pytest.raises(InputError) as refused:
        perform(AddInstrument(manager.site, **{**GOOD, field: typed}), By(manager, make.NOW))
    assert refused.value.field == field
    assert allowed in refused.value.allowed
    assert Instrument.objects.count() == 1


def test_the_same_name_may_stand_in_another_plant(manager: Person) -> None:
    make.make_instrument(make.make_site("other"), name="OW-3", serial="DP-0932")
    perform(AddInstrument(manager.site, **GOOD), By(manager, make.NOW))
    assert Instrument.objects.filter(name="OW-3").count() == 2


@pytest.mark.parametrize("role", [ANALYST, DEVELOPER, ADMINISTRATOR])
def test_only_a_manager_adds_one(manager: Person, role: str) -> None:
    other = make.make_person(manager.site, role)
    with pytest.raises(Refused, match="this is for manager"):
        perform(AddInstrument(manager.site, **GOOD), By(other, make.NOW))


def test_not_in_another_plant(manager: Person) -> None:
    other: Site = make.make_site("other")
    instrument = make.make_instrument(other)
    by = By(manager, make.NOW)
    for action in (
        AddInstrument(other, **GOOD),
        ChangeInstrument(instrument, "moved", location="Bench 9"),
        WithdrawInstrument(instrument, "dropped"),
        ReturnInstrument(instrument, "repaired"),
    ):
        with pytest.raises(Refused, match="another plant"):
            perform(action, by)


def test_a_change_keeps_old_and_new_with_its_reason(manager: Person) -> None:
    instrument = make.make_instrument(manager.site, location="Bench 1")
    change = ChangeInstrument(
        instrument, "calibrated by the maker", location="Bench 1", calibration_due="2027-09-01", check_limit="0.004"
    )
    perform(change, By(manager, make.NOW))
    instrument.refresh_from_db()
    assert (instrument.calibration_due, instrument.check_limit) == (date(2027, 9, 1), "0.004")
    (line,) = trail_of(instrument.ref)
    assert line.details == {"calibration_due": ["2027-01-15", "2027-09-01"], "check_limit": ["0.005", "0.004"]}
    assert line.reason == "calibrated by the maker"


def test_a_change_needs_a_reason_and_a_difference(manager: Person) -> None:
    instrument = make.make_instrument(manager.site)
    with pytest.raises(InputError, match="why it is changed"):
        perform(ChangeInstrument(instrument, " ", location="Bench 4"), By(manager, make.NOW))
    with pytest.raises(InputError, match="at least one field that differs"):
        perform(ChangeInstrument(instrument, "no change", serial=instrument.serial), By(manager, make.NOW))
    make.make_instrument(manager.site, "OW-2")
    with pytest.raises(InputError, match="no other has"):
        perform(ChangeInstrument(instrument, "typed wrong", serial="OW-2-0417"), By(manager, make.NOW))
    assert trail_of(instrument.ref) == []


def test_withdrawn_and_returned_each_once_with_a_reason(manager: Person) -> None:
    instrument, by = make.make_instrument(manager.site), By(manager, make.NOW)
    with pytest.raises(Refused, match="OW-1 is in use"):
        perform(ReturnInstrument(instrument, "repaired"), by)
    with pytest.raises(InputError, match="why it must not be used"):
        perform(WithdrawInstrument(instrument, ""), by)
    perform(WithdrawInstrument(instrument, "dropped from the bench"), by)
    instrument.refresh_from_db()
    assert (instrument.in_use, instrument.out_of_use_reason) == (False, "dropped from the bench")
    with pytest.raises(Refused, match="out of use already: dropped"):
        perform(WithdrawInstrument(instrument, "again"), by)
    perform(ReturnInstrument(instrument, "checked on four references after repair"), by)
    instrument.refresh_from_db()
    assert (instrument.in_use, instrument.out_of_use_reason) == (True, "")
    assert [line.kind for line in trail_of(instrument.ref)] == ["instrument_withdrawn", "instrument_returned"]
    assert trail_of(instrument.ref)[1].details["out_of_use_reason"] == ["dropped from the bench", ""]

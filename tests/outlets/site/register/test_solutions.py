"""Reference lots, their weighings and bottles, and which bottles may be read on a day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from tests.outlets.site import make

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Action, By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import ADMINISTRATOR, ANALYST, MANAGER
from isohume.outlets.site.register.actions.add_bottle import AddBottle
from isohume.outlets.site.register.actions.add_solution_lot import AddSolutionLot
from isohume.outlets.site.register.actions.discard_bottle import DiscardBottle
from isohume.outlets.site.register.actions.open_bottle import OpenBottle
from isohume.outlets.site.register.actions.record_weighing import RecordWeighing
from isohume.outlets.site.register.actions.withdraw_solution_lot import WithdrawSolutionLot
from isohume.outlets.site.register.models import BalanceRecord, Bottle, SolutionLot
from isohume.outlets.site.register.queries import reasons_against_bottle, usable_bottles

DAY = date(2026, 9, 16)
LOT = {"code": "NA-26-07", "solution": "sodium chloride", "made_on": "2026-07-01", "expires_on": "2027-07-01"}
WEIGHED = {
    "balance": "B-2",
    "salt_g": "35.06",
    "water_g": "100.00",
    "purity": "0.999",
    "check_nominal_g": "100.00",
    "check_read_g": "100.01",
    "check_limit_g": "0.02",
}


@pytest.fixture
def manager(site_db: Path) -> Person:
    return make.make_person(make.make_site(), MANAGER, username="imoss")


@pytest.fixture
def by(manager: Person) -> By:
    return By(manager, make.NOW)


def test_a_saturated_lot_says_what_it_should_read(manager: Person, by: By) -> None:
    made = perform(AddSolutionLot(manager.site, **LOT, made_from="salt 99.9 %", made_by=manager), by)
    assert (made.solution, made.molality, made.name) == ("NaCl", "", "NaCl saturated")
    (line,) = trail_of(made.ref)
    assert line.details["a_w at 25 degC"] == "0.75298 (u 0.00060)"  # the refit of Greenspan1977 (0.7529)
    assert line.details["solution"] == ["sodium chloride", "NaCl"]
    assert trail_of(manager.ref) == [line]


def test_a_lot_by_molality_keeps_its_digits(manager: Person, by: By) -> None:
    made = perform(AddSolutionLot(manager.site, **{**LOT, "solution": "LiCl"}, molality="13,41"), by)
    assert made.molality == "13.41"
    assert made.name == "LiCl 13.41 mol/kg"
    assert trail_of(made.ref)[0].details["molality"] == "13,41"


@pytest.mark.parametrize(
    ("field", "given", "allowed"),
    [
        ("solution", {"solution": "sodum chloride"}, "nearest: NaCl"),
        ("solution", {"solution": ""}, "a formula or an English name"),
        ("solution", {"solution": "sucrose"}, "give a molality"),
        ("solution", {"solution": "K2CO3", "molality": "2"}, "a solution kept by molality"),
        ("molality", {"molality": "0"}, "above 0"),
        ("molality", {"molality": "60"}, ""),
        ("molality", {"molality": "two"}, "above 0"),
        ("code", {"code": ""}, "the lot's code"),
        ("code", {"code": "nacl-26-04"}, "no other has"),
        ("made_on", {"made_on": "2026-09-17"}, "not after today (2026-09-16)"),
        ("made_on", {"made_on": "July"}, "such as 2026-11-23"),
        ("expires_on", {"expires_on": "2026-07-01"}, "after it was made (2026-07-01)"),
        ("expires_on", {"expires_on": ""}, "such as 2026-11-23"),
    ],
)
def test_a_bad_lot_is_refused(manager: Person, by: By, field: str, given: dict[str, str], allowed: str) -> None:
    make.make_bottle(manager.site)
    with pytest.raises(InputError) as refused:
        perform(AddSolutionLot(manager.site, **{**LOT, **given}), by)
    assert refused.value.field == field
    assert allowed in refused.value.allowed
    assert SolutionLot.objects.count() == 1


def test_a_passed_balance_check_is_the_balance_record(manager: Person, by: By) -> None:
    lot = make.make_bottle(manager.site).solution_lot
    kept = perform(RecordWeighing(lot, **WEIGHED, weighed_at="2026-04-02T08:10"), by)
    assert (kept.check_passed, kept.salt_g, kept.water_g) == (True, "35.06", "100.00")
    assert kept.weighed_at == datetime(2026, 4, 2, 7, 10, tzinfo=UTC)  # London is one hour ahead in April
    assert kept.weighed_by == manager
    (line,) = trail_of(lot.ref)
    assert line.details["balance check"] == "Balance: check weight 100.00 g read 100.01 g, within 0.02 g."
    assert usable_bottles(manager.site, DAY) == list(lot.bottles.all())


def test_a_failed_balance_check_is_kept_and_the_lot_may_not_be_used(manager: Person, by: By) -> None:
    bottle = make.make_bottle(manager.site)
    closed = Bottle.objects.create(solution_lot=bottle.solution_lot, code="2")
    kept = perform(RecordWeighing(bottle.solution_lot, **{**WEIGHED, "check_read_g": "100.03"}), by)
    assert not kept.check_passed
    assert trail_of(kept.ref)[0].details["verdict"] == "fail: the lot may not be used"
    assert usable_bottles(manager.site, DAY) == []
    said = "The balance check of lot NaCl-26-04 failed: what was weighed is not known."
    assert reasons_against_bottle(bottle, DAY) == [said]
    for action in (OpenBottle(closed), AddBottle(bottle.solution_lot, "3")):
        with pytest.raises(Refused, match="balance check"):
            perform(action, by)


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("balance", ""),
        ("salt_g", "0"),
        ("salt_g", "thirty"),
        ("water_g", "-100"),
        ("check_nominal_g", "0"),
        ("check_limit_g", "0"),
        ("check_read_g", ""),
        ("weighed_at", "2026-09-16T10:06"),  # now is 10:00 in London
        ("weighed_at", "yesterday"),
    ],
)
def test_a_bad_weighing_is_refused(manager: Person, by: By, field: str, typed: str) -> None:
    lot = make.make_bottle(manager.site).solution_lot
    with pytest.raises(InputError) as refused:
        perform(RecordWeighing(lot, **{**WEIGHED, field: typed}), by)
    assert refused.value.field == field
    assert not BalanceRecord.objects.exists()


def test_a_bottle_is_added_opened_and_discarded(manager: Person, by: By) -> None:
    lot = perform(AddSolutionLot(manager.site, **LOT), by)
    bottle = perform(AddBottle(lot, "A"), by)
    assert reasons_against_bottle(bottle, DAY) == ["Bottle A is not opened."]
    perform(OpenBottle(bottle, "2026-09-01T07:30", "2026-10-01"), by)
    bottle.refresh_from_db()
    assert bottle.opened_at == datetime(2026, 9, 1, 6, 30, tzinfo=UTC)
    assert usable_bottles(manager.site, DAY) == [bottle]
    assert usable_bottles(manager.site, date(2026, 10, 1)) == [bottle]
    assert usable_bottles(manager.site, date(2026, 10, 2)) == []
    assert usable_bottles(manager.site, date(2026, 8, 31)) == []
    perform(DiscardBottle(bottle, "left open over night"), by)
    assert usable_bottles(manager.site, DAY) == []
    assert usable_bottles(manager.site, DAY - timedelta(days=1)) == [bottle]
    assert [line.kind for line in trail_of(bottle.ref)] == ["bottle_added", "bottle_opened", "bottle_discarded"]
    assert trail_of(bottle.ref)[2].reason == "left open over night"


def test_without_a_day_a_bottle_is_discarded_with_its_lot(manager: Person, by: By) -> None:
    bottle = perform(AddBottle(perform(AddSolutionLot(manager.site, **LOT), by), "A"), by)
    perform(OpenBottle(bottle), by)
    assert (bottle.opened_at, bottle.discard_on) == (make.NOW, date(2027, 7, 1))


@pytest.mark.parametrize(
    ("field", "opened_at", "discard_on"),
    [
        ("opened_at", "2026-06-30T23:59", ""),  # before it was made
        ("opened_at", "2026-09-16T10:06", ""),  # in the future
        ("discard_on", "2026-09-01T07:30", "2026-08-31"),
        ("discard_on", "2026-09-01T07:30", "2027-07-02"),
        ("discard_on", "2026-09-01T07:30", "soon"),
    ],
)
def test_a_bottle_is_not_opened_out_of_its_time(
    manager: Person, by: By, field: str, opened_at: str, discard_on: str
) -> None:
    bottle = perform(AddBottle(perform(AddSolutionLot(manager.site, **LOT), by), "A"), by)
    with pytest.raises(InputError) as refused:
        perform(OpenBottle(bottle, opened_at, discard_on), by)
    assert refused.value.field == field
    bottle.refresh_from_db()
    assert bottle.opened_at is None


def test_open_and_discarded_each_once(manager: Person, by: By) -> None:
    bottle = make.make_bottle(manager.site)
    with pytest.raises(Refused, match="open since 2026-08-27"):
        perform(OpenBottle(bottle), by)
    with pytest.raises(InputError, match="not before the bottle was opened"):
        perform(DiscardBottle(bottle, "cloudy", "2026-08-01T10:00"), by)
    with pytest.raises(InputError, match="why it is discarded"):
        perform(DiscardBottle(bottle, ""), by)
    perform(DiscardBottle(bottle, "cloudy"), by)
    for action in (DiscardBottle(bottle, "again"), OpenBottle(bottle)):
        with pytest.raises(Refused, match="discarded"):
            perform(action, by)


def test_a_code_once_a_lot(manager: Person, by: By) -> None:
    bottle = make.make_bottle(manager.site, code="A")
    with pytest.raises(InputError, match="no other has of lot"):
        perform(AddBottle(bottle.solution_lot, "a"), by)


def test_a_withdrawn_lot_and_an_expired_one_may_not_be_used(manager: Person, by: By) -> None:
    bottle = make.make_bottle(manager.site)
    other = make.make_bottle(manager.site, "LiCl", "13.41")
    assert usable_bottles(manager.site, DAY) == [other, bottle]
    assert usable_bottles(manager.site, date(2027, 4, 3)) == []
    with pytest.raises(InputError, match="why it must not be used"):
        perform(WithdrawSolutionLot(bottle.solution_lot, " "), by)
    perform(WithdrawSolutionLot(bottle.solution_lot, "no crystals left"), by)
    assert usable_bottles(manager.site, DAY) == [other]
    assert trail_of(bottle.ref)[-1].kind == "solution_lot_withdrawn"
    with pytest.raises(Refused, match="withdrawn already: no crystals left"):
        perform(WithdrawSolutionLot(bottle.solution_lot, "again"), by)
    with pytest.raises(Refused, match="is withdrawn"):
        perform(AddBottle(bottle.solution_lot, "9"), by)


def test_bottles_of_another_plant_are_nobodys(manager: Person) -> None:
    make.make_bottle(make.make_site("other"))
    assert usable_bottles(manager.site, DAY) == []


def _acts(site_bottle: Bottle) -> list[Action]:
    lot = site_bottle.solution_lot
    return [
        AddSolutionLot(lot.site, **LOT),
        WithdrawSolutionLot(lot, "why"),
        RecordWeighing(lot, **WEIGHED),
        AddBottle(lot, "7"),
        OpenBottle(site_bottle),
        DiscardBottle(site_bottle, "why"),
    ]


@pytest.mark.parametrize("role", [ANALYST, ADMINISTRATOR])
def test_only_a_manager(manager: Person, role: str) -> None:
    other = make.make_person(manager.site, role)
    for action in _acts(make.make_bottle(manager.site)):
        if role == ANALYST and isinstance(action, RecordWeighing | OpenBottle | DiscardBottle):
            continue  # these are an analyst's too
        with pytest.raises(Refused, match=r"this is for (analyst, )?manager"):
            perform(action, By(other, make.NOW))


def test_not_in_another_plant(by: By) -> None:
    for action in _acts(make.make_bottle(make.make_site("other"))):
        with pytest.raises(Refused, match="another plant"):
            perform(action, by)
    stranger = make.make_person(make.make_site("third"), MANAGER)
    lot = make.make_bottle(by.person.site).solution_lot
    for action in (
        AddSolutionLot(by.person.site, **LOT, made_by=stranger),
        RecordWeighing(lot, **WEIGHED, weighed_by=stranger),
    ):
        with pytest.raises(Refused, match="another plant"):
            perform(action, by)

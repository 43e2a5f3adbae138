"""What is due: calibrations, checks, bottles, reference lots, competence, proficiency, budgets."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from tests.outlets.site import make
from tests.outlets.site.register.making import make_check

from isohume.outlets.site.budgets.actions.keep_budget import KeepBudget
from isohume.outlets.site.comparisons.models import ProficiencyRound
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import ANALYST, MANAGER
from isohume.outlets.site.register.actions.record_weighing import RecordWeighing
from isohume.outlets.site.register.actions.withdraw_instrument import WithdrawInstrument
from isohume.outlets.site.register.due_items import due_items, due_rows, page_of
from isohume.outlets.site.register.models import Bottle, Budget, MethodVersion, SolutionLot

DAY = date(2026, 9, 16)


@pytest.fixture
def manager(site_db: Path) -> Person:
    return make.make_person(make.make_site(), MANAGER, username="imoss")


def _due(person: Person) -> dict[str, tuple[int, str]]:
    return {row.due.item.what: (row.due.days_left, row.due.item.why) for row in due_rows(person.site, make.NOW)}


def _without_budgets(person: Person) -> dict[str, tuple[int, str]]:
    return {what: due for what, due in _due(person).items() if not what.startswith("Budget")}


def test_an_empty_plant_owes_nothing(manager: Person) -> None:
    assert due_items(manager.site, make.NOW) == []


def test_calibrations_of_instruments_in_use(manager: Person) -> None:
    soon = make.make_instrument(manager.site, "OW-1", calibration_due=DAY + timedelta(days=30))
    make.make_instrument(manager.site, "OW-2", calibration_due=DAY + timedelta(days=31))
    late = make.make_instrument(manager.site, "OW-3", calibration_due=DAY - timedelta(days=1))
    make.make_instrument(manager.site, "OW-4", calibration_due=None)
    perform(WithdrawInstrument(late, "dropped"), By(manager, make.NOW))
    calibrations = {what: due for what, due in _due(manager).items() if what.startswith("Calibration")}
    assert calibrations == {"Calibration of OW-1": (30, "calibration")}
    assert page_of(soon.ref) == soon.get_absolute_url()
    late.in_use = True
    late.save()
    assert _due(manager)["Calibration of OW-3"] == (-1, "calibration")


def test_a_bottle_is_due_by_its_own_day_and_a_lot_by_its_last(manager: Person) -> None:
    bottle = make.make_bottle(manager.site)
    bottle.discard_on = DAY + timedelta(days=3)
    bottle.save()
    lot = bottle.solution_lot
    assert _due(manager) == {"Bottle 1 of NaCl saturated, lot NaCl-26-04": (3, "to be discarded")}
    SolutionLot.objects.update(expires_on=DAY - timedelta(days=2))
    assert _due(manager) == {str(lot): (-2, "expired")}  # the bottle goes with its lot
    bottle.discarded_at = make.NOW
    bottle.save()
    assert _due(manager) == {}  # nothing of it is left


def test_a_lot_that_may_not_be_used_asks_for_nothing(manager: Person) -> None:
    bottle = make.make_bottle(manager.site)
    SolutionLot.objects.update(expires_on=DAY)
    assert list(_due(manager)) == [str(bottle.solution_lot)]
    weighed = RecordWeighing(bottle.solution_lot, "B-2", "35", "100", "100", "101", "0.1")
    perform(weighed, By(manager, make.NOW))
    assert _due(manager) == {}


def test_the_last_competence_of_an_active_person_counts(manager: Person) -> None:
    version, analyst = make.make_method(manager.site), make.make_person(manager.site, ANALYST, username="dwest")
    make.make_competent(analyst, version, until=DAY - timedelta(days=90))
    make.make_competent(analyst, version, until=DAY + timedelta(days=5))
    what = f"Competence of Dwest for {version.method.name}"
    assert _without_budgets(manager) == {what: (5, "competence lapses")}
    analyst.is_active = False
    analyst.save()
    assert _without_budgets(manager) == {}


def test_a_check_is_due_when_the_last_one_ends(manager: Person) -> None:
    version, instrument = make.make_method(manager.site), make.make_instrument(manager.site)
    assert _due(manager)["Check of OW-1"][0] == 0
    bottles = {make.make_bottle(manager.site): 0.0005, make.make_bottle(manager.site, "MgCl2"): 0.0}
    make_check(instrument, version, manager, bottles, make.NOW - timedelta(hours=2))
    assert _without_budgets(manager) == {"Check of OW-1": (1, "the last check ends")}
    make_check(instrument, version, manager, dict.fromkeys(bottles, 0.012), make.NOW - timedelta(hours=1))
    assert _due(manager)["Check of OW-1"][0] == 0


def test_only_the_objects_asked_about_and_only_the_own_plant(manager: Person) -> None:
    mine = make.make_instrument(manager.site, "OW-1", calibration_due=DAY)
    make.make_instrument(manager.site, "OW-2", calibration_due=DAY)
    make.make_instrument(make.make_site("other"), "OW-9", calibration_due=DAY)
    assert {row.due.item.what for row in due_rows(manager.site, make.NOW, of=[mine.ref])} == {
        "Calibration of OW-1",
        "Check of OW-1",
    }
    assert not any("OW-9" in item.what for item in due_items(manager.site, make.NOW))


def test_thirty_days_ahead_by_hand(manager: Person) -> None:
    """Seen on 16 September 2026: what falls on 16 October is listed, what falls on 17 October is not."""
    october = {True: date(2026, 10, 16), False: date(2026, 10, 17)}
    site, version = manager.site, make.make_method(manager.site)
    for listed, last in october.items():
        name = "in" if listed else "out"
        instrument = make.make_instrument(site, f"OW-{name}", calibration_due=last, in_use=True)
        person = make.make_person(site, ANALYST, username=f"an{name}")
        make.make_competent(person, version, until=last)
        made = date(2026, 4, 2)
        lot = SolutionLot.objects.create(site=site, code=f"lot-{name}", solution="NaCl", made_on=made, expires_on=last)
        later = SolutionLot.objects.create(
            site=site, code=f"later-{name}", solution="NaCl", made_on=made, expires_on=date(2027, 4, 2)
        )
        Bottle.objects.create(solution_lot=lot, code="1", opened_at=make.NOW)
        Bottle.objects.create(solution_lot=later, code="1", opened_at=make.NOW, discard_on=last)
        ProficiencyRound.objects.create(
            site=site, scheme=f"scheme-{name}", round="1", item="agar", assigned="0.850", sigma_pt="0.005",
            result="0.852", reported_on=made, next_on=last, z=0.4, word="ok", instrument=instrument,
            at=make.NOW, by=manager,
        )  # fmt: skip
    # the last look at the budget was on 17 July: 91 days later it is 16 October
    Budget.objects.update(since=make.NOW - timedelta(days=61))
    MethodVersion.objects.update(since=make.NOW - timedelta(days=61))
    found = {what: days for what, (days, _) in _due(manager).items()}
    assert found == {
        "Calibration of OW-in": 30,
        "Competence of Anin for Water activity of cut bars, BM-12": 30,
        "NaCl saturated, lot lot-in": 30,
        "Bottle 1 of NaCl saturated, lot later-in": 30,
        "Proficiency round of scheme-in": 30,
        "Budget of Water activity of cut bars, BM-12": 30,
        "Check of OW-in": 0,
        "Check of OW-out": 0,
    }
    ProficiencyRound.objects.filter(scheme="scheme-in").update(next_on=date(2026, 9, 15))
    assert _due(manager)["Proficiency round of scheme-in"][0] == -1


def test_a_budget_is_due_a_quarter_after_the_last_look(manager: Person) -> None:
    version = make.make_method(manager.site)
    Budget.objects.update(since=make.NOW - timedelta(days=91))
    what = f"Budget of {version.method}"
    assert _due(manager)[what] == (0, "quarterly refresh")
    perform(KeepBudget(version, reason="own data are not enough yet"), By(manager, make.NOW))
    assert what not in _due(manager)
    later = MethodVersion.objects.create(method=version.method, version="4", since=make.NOW - timedelta(days=91))
    assert _due(manager)[what] == (0, "the starter budget holds still")
    assert page_of(later.ref) == later.get_absolute_url()


def test_a_bottle_that_moves_is_due_today(manager: Person) -> None:
    version, instrument = make.make_method(manager.site), make.make_instrument(manager.site)
    moving, sibling = make.make_bottle(manager.site), make.make_bottle(manager.site, code="2")
    dry = make.make_bottle(manager.site, "MgCl2")
    for day in range(20):
        noise = [0.0003 * (-1) ** (day + k) for k in range(3)]
        off = {moving: 0.001 * max(0, day - 13) + noise[0], sibling: noise[1], dry: noise[2]}
        make_check(instrument, version, manager, off, make.NOW - timedelta(days=20 - day))
    found = _due(manager)
    days, why = found["Bottle NaCl-26-04 / 1"]
    assert days == 0
    assert why.startswith("Bottle, not instrument")
    assert "Drift of OW-1" not in found
    moving.discarded_at = make.NOW
    moving.save()
    assert "Bottle NaCl-26-04 / 1" not in _due(manager)

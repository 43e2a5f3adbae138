"""Methods, their versions and budgets: what may stand in a field is what a lot file may say."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.outlets.site import make

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import ADMINISTRATOR, ANALYST, MANAGER
from isohume.outlets.site.register.actions.add_method import AddMethod
from isohume.outlets.site.register.actions.add_method_version import AddMethodVersion
from isohume.outlets.site.register.actions.method_fields import Asks
from isohume.outlets.site.register.actions.set_budget import SetBudget
from isohume.outlets.site.register.models import Budget, Method, MethodVersion

OWN = {"basis": "own data", "u_other": "0.0032", "s_r": "0.0020", "source": "Own checks and duplicates, spring"}


@pytest.fixture
def manager(site_db: Path) -> Person:
    return make.make_person(make.make_site(), MANAGER, username="imoss")


def test_a_method_comes_with_its_first_version(manager: Person) -> None:
    made = perform(AddMethod(manager.site, "Water activity, BM-12", Asks(version="1")), By(manager, make.NOW))
    kept = MethodVersion.objects.get(pk=made.pk)
    assert (kept.method.name, kept.temperature_c, kept.since) == ("Water activity, BM-12", "25.0", make.NOW)
    assert kept.method.current == kept
    assert kept.budget is None  # the starter budget of the published studies
    assert [line.kind for line in trail_of(kept.ref)] == ["method_added"]
    assert trail_of(kept.method.ref)[0].details["temperature_tolerance_c"] == "0.5"


@pytest.mark.parametrize(
    ("field", "typed", "allowed"),
    [
        ("version", "", "version of the method"),
        ("temperature_c", "77", "0 to 60"),
        ("temperature_c", "298", "kelvin meant"),
        ("temperature_tolerance_c", "3", "at most 2"),
        ("temperature_tolerance_c", "-0.5", "zero or more"),
        ("mismatch_limit_c", "6", "at most 5"),
        ("check_interval_h", "0", "above 0"),
        ("check_interval_h", "1000", "at most 744"),
        ("portions", "0", "1 to 10"),
        ("open_limit_min", "9.5", "1 to 240"),
        ("lidded_limit_h", "", "1 to 72"),
        ("film_limit_h", "many", "1 to 744"),
        ("document", "x" * 201, "at most 200"),
    ],
)
def test_a_bad_field_is_named_and_nothing_is_kept(manager: Person, field: str, typed: str, allowed: str) -> None:
    asks = Asks(**{"version": "1", field: typed})
    with pytest.raises(InputError) as refused:
        perform(AddMethod(manager.site, "BM-12", asks), By(manager, make.NOW))
    assert refused.value.field == field
    assert allowed in refused.value.allowed
    assert not Method.objects.exists()


def test_a_name_once_in_any_case(manager: Person) -> None:
    perform(AddMethod(manager.site, "BM-12", Asks(version="1")), By(manager, make.NOW))
    with pytest.raises(InputError, match="no other has in this plant"):
        perform(AddMethod(manager.site, "bm-12", Asks(version="1")), By(manager, make.NOW))


def test_another_version_leaves_the_first_and_carries_the_budget(manager: Person) -> None:
    first = make.make_method(manager.site)
    action = AddMethodVersion(first.method, "portions read in triplicate", Asks(version="4", portions="3"))
    second = perform(action, By(manager, make.NOW))
    first.refresh_from_db()
    assert (first.portions, second.portions, first.method.current) == (2, 3, second)
    assert second.budget is not None
    assert (second.budget.basis, second.budget.u_other) == ("own data", "0.0032")
    (line,) = trail_of(second.ref)
    assert line.details["version"] == ["3", "4"]
    assert "s_r 0.0020" in line.details["budget carried over"]
    assert trail_of(first.ref)[-1] == line


def test_another_version_needs_its_own_number_and_a_reason(manager: Person) -> None:
    first = make.make_method(manager.site)
    with pytest.raises(InputError, match="no other has of"):
        perform(AddMethodVersion(first.method, "why", Asks(version="3")), By(manager, make.NOW))
    with pytest.raises(InputError, match="what changed"):
        perform(AddMethodVersion(first.method, "", Asks(version="4")), By(manager, make.NOW))
    assert MethodVersion.objects.count() == 1


def test_a_budget_of_own_data_is_kept_as_typed(manager: Person) -> None:
    version = make.make_method(manager.site)
    old = version.budget
    made = perform(SetBudget(version, **{**OWN, "s_position": "0.00100"}, reason="more data"), By(manager, make.NOW))
    assert version.budget == made != old
    assert (made.u_other, made.s_r, made.s_position, made.s_reproducibility) == ("0.0032", "0.0020", "0.00100", "")
    (line,) = trail_of(made.ref)
    assert line.details == {**OWN, "s_position": "0.00100"}
    assert line.reason == "more data"
    assert trail_of(version.ref) == [line]


def test_a_collaborative_study_without_numbers_is_the_starter_budget(manager: Person) -> None:
    version = make.make_method(manager.site)
    made = perform(SetBudget(version, "collaborative study", reason="no own data yet"), By(manager, make.NOW))
    assert (made.u_other, made.s_reproducibility) == ("", "")
    assert "starter budget" in made.source


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("basis", {**OWN, "basis": "instrument specification"}),
        ("basis", {**OWN, "basis": ""}),
        ("u_other", {**OWN, "u_other": ""}),
        ("s_r", {**OWN, "s_r": " "}),
        ("s_reproducibility", {**OWN, "s_reproducibility": "0.009"}),
        ("u_other", {**OWN, "basis": "collaborative study"}),
        ("s_r", {"basis": "collaborative study", "s_r": "0.0091"}),
        ("s_reproducibility", {"basis": "collaborative study", "s_reproducibility": "1.2", "source": "x"}),
        ("source", {**OWN, "source": ""}),
        ("source", {"basis": "collaborative study", "s_reproducibility": "0.008"}),
        ("u_other", {**OWN, "u_other": "0"}),
        ("s_position", {**OWN, "s_position": "nan"}),
        ("reason", {**OWN, "reason": " "}),
    ],
)
def test_a_budget_follows_the_rules_of_a_lot_file(manager: Person, field: str, given: dict[str, str]) -> None:
    version = make.make_method(manager.site)
    with pytest.raises(InputError) as refused:
        perform(SetBudget(version, **{"reason": "more data", **given}), By(manager, make.NOW))
    assert refused.value.field == field
    assert str(refused.value).startswith(field)
    assert Budget.objects.count() == 1


@pytest.mark.parametrize("role", [ANALYST, ADMINISTRATOR])
def test_only_a_manager(manager: Person, role: str) -> None:
    version, by = make.make_method(manager.site), By(make.make_person(manager.site, role), make.NOW)
    for action in (
        AddMethod(manager.site, "BM-13", Asks(version="1")),
        AddMethodVersion(version.method, "why", Asks(version="4")),
        SetBudget(version, **OWN),
    ):
        with pytest.raises(Refused, match="this is for manager"):
            perform(action, by)


def test_not_in_another_plant(manager: Person) -> None:
    version, by = make.make_method(make.make_site("other")), By(manager, make.NOW)
    for action in (AddMethodVersion(version.method, "why", Asks(version="4")), SetBudget(version, **OWN)):
        with pytest.raises(Refused, match="another plant"):
            perform(action, by)

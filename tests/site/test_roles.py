"""Every role meets every action and every page; what is allowed stands in a table written by hand."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils import timezone
from tests.served import Plant
from tests.site import addresses
from tests.site.acts import BACKEND, BY_ROLE, Act, People, every_act, kinds_after, last_line
from tests.site.roles_by_hand import EVERYBODY, MAY, PUBLIC_PAGES, ROLES, SEES_EVERY_PAGE, SIGNS
from tests.site.routes import routes

from isohume.outlets import site as site_package
from isohume.outlets.site.ledger.actions import ACTIONS, By, check
from isohume.outlets.site.lots.actions.sign_records import SignRecords
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.proof import Proof

PASSWORD = "four calm oat bars"
NOT_YOURS = ": this is for "


def load_every_action() -> None:
    """Also those that no page has asked for yet."""
    for found in pkgutil.walk_packages(site_package.__path__, f"{site_package.__name__}."):
        if ".actions." in found.name or found.name.endswith(".actions"):
            importlib.import_module(found.name)
    assert get_resolver().url_patterns


def people_by_role() -> dict[str, Person]:
    """One person a role, who holds nothing else."""
    found = {role: Person.objects.get(username=name) for role, name in BY_ROLE.items()}
    assert all(person.roles == [role] for role, person in found.items())
    return found


def test_the_table_names_every_action_and_every_role() -> None:
    load_every_action()
    assert set(MAY) == set(ACTIONS)
    assert set(ROLES) == set(BY_ROLE)
    assert all(allowed <= EVERYBODY for allowed in MAY.values())


class Matrix:
    """Counts the cells that were asked, and keeps those that did not answer as the table says."""

    def __init__(self) -> None:
        self.cells: set[tuple[str, str]] = set()
        self.wrong: list[str] = []

    def ask(self, what: str, role: str, allowed: bool, expected: bool) -> None:
        """One cell."""
        self.cells.add((what, role))
        if allowed is not expected:
            self.wrong.append(f"{what} by {role}: {'allowed' if allowed else 'refused'}")


@pytest.fixture(scope="module")
def matrix_of_acts(plant_of_module: Plant) -> tuple[Matrix, Matrix]:
    """Every act posted by every role: first those who may not, last the one who does it.

    The second matrix holds what `check` says of the same act, caught on its way from the page.
    """
    posted, checked, people = Matrix(), Matrix(), People(PASSWORD)
    with caught_actions() as caught:
        for act in every_act(people):
            refused = [role for role in ROLES if role not in MAY[act.kind]]
            for role in refused:
                posted.ask(act.kind, role, not _refused_by_role(people, act, BY_ROLE[role]), expected=False)
            assert posted.wrong == []  # what went through would stand in the way of the acts that follow
            caught.clear()
            people.make(act)
            done = next(action for action in caught if action.name == act.kind)
            for role, person in people_by_role().items():
                verdict = check(done, By(person, timezone.now()))
                may = not any(NOT_YOURS in reason for reason in verdict.reasons)
                checked.ask(act.kind, role, may, role in MAY[act.kind])
    return posted, checked


def caught_actions() -> Any:
    """The actions that are asked for while this holds, as they are asked."""
    from contextlib import contextmanager
    from unittest.mock import patch

    from isohume.outlets.site.ledger import actions

    @contextmanager
    def catching() -> Iterator[list[Any]]:
        caught: list[Any] = []
        asked: Callable[..., Any] = actions.check

        def noted(action: Any, by: By) -> Any:
            caught.append(action)
            return asked(action, by)

        with patch.object(actions, "check", noted):
            yield caught

    return catching()


def _refused_by_role(people: People, act: Act, username: str) -> bool:
    """Whether a post of this person changes nothing and is answered with whose act it is."""
    before = last_line()
    answer = people.post(act, username)
    return kinds_after(before) == [] and answer.status_code == 422 and NOT_YOURS in answer.content.decode()


def test_every_action_by_every_role(matrix_of_acts: tuple[Matrix, Matrix], record_property: Callable) -> None:
    _, checked = matrix_of_acts
    assert checked.wrong == []
    assert len(checked.cells) == len(MAY) * len(ROLES)
    record_property("cells", f"{len(checked.cells)} of role and action")


def test_no_role_gets_through_a_page_that_is_not_its_own(
    matrix_of_acts: tuple[Matrix, Matrix], record_property: Callable
) -> None:
    posted, _ = matrix_of_acts
    nowhere = sum(role not in allowed for allowed in MAY.values() for role in ROLES)
    assert len(posted.cells) == nowhere
    record_property("cells", f"{len(posted.cells)} of role and page that refuses to act")


@pytest.mark.parametrize("meaning", sorted(SIGNS))
def test_every_meaning_of_a_signature_by_every_role(plant_of_module: Plant, meaning: str) -> None:
    record = LotRecord.objects.filter(lot__state="judged").first() or LotRecord.objects.latest("pk")
    for role, person in people_by_role().items():
        now = timezone.now()
        signing = SignRecords(person.site, [record], meaning, Proof(person.pk, now), True, "")
        said = " ".join(check(signing, By(person, now)).reasons)
        of_role = NOT_YOURS in said or f"Signing {meaning} is for" in said
        assert of_role is (role not in SIGNS[meaning]), (meaning, role, said)


def test_every_page_by_every_role(full_plant_here: Plant, record_property: Callable) -> None:
    cells, wrong = 0, []
    found = addresses.pages(full_plant_here.ask)
    for role, username in BY_ROLE.items():
        client = Client()
        client.force_login(Person.objects.get(username=username), BACKEND)
        for name, examples in found.items():
            expected = 200 if role in SEES_EVERY_PAGE else 403
            status = client.get(examples[0]).status_code
            cells += 1
            if status != expected:
                wrong.append(f"{name} by {role}: {status}")
    assert wrong == []
    record_property("cells", f"{cells} of role and page")


def test_nobody_without_a_session_sees_a_page(full_plant_here: Plant) -> None:
    sign_in, client = reverse("sign_in"), Client()
    ask = full_plant_here.ask
    every = {**addresses.pages(ask), **addresses.parts(ask)}
    every |= {name: [address for address, _ in found] for name, found in addresses.files(ask).items()}
    every["scan"] = [address for address, _ in addresses.leads(ask)]
    for examples in every.values():
        for address in examples:
            answer = client.get(address)
            assert answer.status_code == 302, address
            assert answer["Location"].startswith(f"{sign_in}?next="), address
    public = {name for name, route in routes().items() if route.pattern.callback.roles == "anybody"}
    assert public == PUBLIC_PAGES
    assert client.get(sign_in).status_code == 200

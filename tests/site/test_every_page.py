"""The pages of the register, of people, lots and records in the real browser, and what is not a page of its own.

Both widths, light and dark: no violation, no fault, no call to anybody else, nothing too small, nothing too wide.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser
from tests import served
from tests.served import Plant
from tests.site import addresses
from tests.site.browsing import EVERY_VISIT, Watched, watched
from tests.site.routes import routes

NEW_LINK = """
from django.utils import timezone
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.setup import new_token
print(new_token(Person.objects.get(username="nquill"), timezone.now()), new_token(None, timezone.now()))
"""


@pytest.fixture(scope="module")
def nobody(site: Plant, chromium: Browser) -> Iterator[Watched]:
    """A browser without a session."""
    assert site.served
    with watched(chromium, site.served.address) as seen:
        yield seen


def test_every_route_has_an_example() -> None:
    assert set(addresses.known()) == set(routes())
    assert len(addresses.known()) == len(set(addresses.known())), "each route is one kind of thing"


def test_every_act_of_an_address_has_an_example(site: Plant) -> None:
    for name, route in routes().items():
        if name in addresses.ACTS:
            assert addresses.ACTS[name][1] == route.acts, name
        else:
            assert not route.acts or name in addresses.POSTED, name


@pytest.mark.parametrize("name", addresses.OFFICE)
def test_a_page(manager: Watched, site: Plant, name: str) -> None:
    assert manager.walk(addresses.pages(site.ask)[name]) == {}
    assert manager.asked_for > 0


def test_pages_for_somebody_not_signed_in(nobody: Watched, site: Plant) -> None:
    invited, first = served.in_the_site(site.folder, NEW_LINK).split()
    for address, status in (
        ("/sign-in/", 200),
        (f"/set-up/{invited}/", 200),
        (f"/set-up/{first}/", 200),
        ("/set-up/used/", 410),
    ):
        nobody.go(address, status)
        assert nobody.look(EVERY_VISIT) + nobody.taken() == [], address


def test_the_page_where_nothing_is(manager: Watched) -> None:
    manager.go("/lots/99999/", 404)
    assert manager.look(EVERY_VISIT) + manager.taken() == []


def test_the_evidence_verified_on_its_page(manager: Watched) -> None:
    manager.go("/records/verify/")
    with manager.page.expect_navigation():
        manager.page.locator("main button[type=submit]").click()
    manager.settle()
    assert manager.look(EVERY_VISIT) + manager.taken() == []


def test_files_come_as_what_they_are(manager: Watched, site: Plant) -> None:
    for examples in addresses.files(site.ask).values():
        for address, kind in examples:
            answer = manager.page.request.get(address)
            assert (answer.status, answer.headers["content-type"].partition(";")[0]) == (200, kind), address
            assert answer.headers["x-content-type-options"] == "nosniff"
            assert len(answer.body()) > 60


def test_parts_of_pages_and_scanned_codes(manager: Watched, site: Plant) -> None:
    for examples in addresses.parts(site.ask).values():
        for address in examples:
            answer = manager.page.request.get(address, headers={"HX-Request": "true"})
            assert answer.status == 200
            assert "<html" not in answer.text()
    for address, place in addresses.leads(site.ask):
        assert manager.page.request.get(address).url.endswith(place)

"""A plant, its running site and a browser for every story; what a story measured is printed at the end of the run."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from tests import served
from tests.served import Plant
from tests.story.desk import Desk


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Path:
    """The demonstration that all stories copy; under several workers it is made once for all of them."""
    own = tmp_path_factory.getbasetemp()
    return served.demo_plant(own.parent if hasattr(request.config, "workerinput") else own)


@pytest.fixture
def plant(demo_folder: Path, tmp_path: Path) -> Plant:
    """Plant A, a copy for one story."""
    return served.copy_of(demo_folder, tmp_path / "data")


@pytest.fixture
def address(plant: Plant) -> Iterator[str]:
    """Where the plant's site runs."""
    with served.serving(plant) as site:
        yield site.address


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The real browser."""
    with served.chromium() as browser:
        yield browser


@pytest.fixture
def desk(chromium: Browser, plant: Plant, address: str) -> Iterator[Callable[[str], Desk]]:
    """desk("mfarrow"): that person, signed in, at a browser of their own."""
    desks: list[Desk] = []

    def sat_down(username: str) -> Desk:
        desks.append(Desk(chromium, address).sign_in(plant, username))
        return desks[-1]

    yield sat_down
    for one in desks:
        one.leave()

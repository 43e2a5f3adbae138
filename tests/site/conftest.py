"""The demonstration plant for tests of the whole site: shared with the stories, copied where it is changed."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

if "ISOHUME_DATA" not in os.environ:
    os.environ["ISOHUME_DATA"] = tempfile.mkdtemp(prefix="isohume-unused-")  # the settings want a folder
    atexit.register(shutil.rmtree, os.environ["ISOHUME_DATA"], ignore_errors=True)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "isohume.outlets.site.config.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.db import connection  # noqa: E402
from playwright.sync_api import Browser  # noqa: E402
from tests import served  # noqa: E402
from tests.served import Plant  # noqa: E402
from tests.site.browsing import Watched, sign_in, watched  # noqa: E402
from tests.site.full_plant import full_plant  # noqa: E402

if "testserver" not in settings.ALLOWED_HOSTS:
    settings.ALLOWED_HOSTS.append("testserver")
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # argon2 is slow on purpose


def use(folder: Path) -> None:
    """Point Django of this process at a data folder."""
    connection.close()
    connection.settings_dict["NAME"] = folder / served.DATABASE
    settings.DATA = folder


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Path:
    """Plant A, two weeks long; made once for all workers of a run, and changed by nobody."""
    own = tmp_path_factory.getbasetemp()
    return served.demo_plant(own.parent if hasattr(request.config, "workerinput") else own)


@pytest.fixture
def plant(demo_folder: Path, tmp_path: Path) -> Iterator[Plant]:
    """A copy of plant A that this process' Django works on."""
    before = Path(connection.settings_dict["NAME"]).parent
    copy = served.copy_of(demo_folder, tmp_path / "data")
    use(copy.folder)
    yield copy
    use(before)  # other tests of the same file may share a plant
    shutil.rmtree(copy.folder)


@pytest.fixture(scope="module")
def plant_of_module(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Plant]:
    """A copy of plant A that the tests of one file share, one after the other."""
    copy = served.copy_of(demo_folder, tmp_path_factory.mktemp("plant") / "data")
    use(copy.folder)
    yield copy
    connection.close()


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The real browser."""
    with served.chromium() as browser:
        yield browser


@pytest.fixture(scope="session")
def full_folder(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Path:
    """Plant A with every kind of object in every state; made once, changed by nobody."""
    own = tmp_path_factory.getbasetemp()
    return full_plant(own.parent if hasattr(request.config, "workerinput") else own)


@pytest.fixture(scope="module")
def full_plant_here(full_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Plant]:
    """A copy of the full plant that this process' Django works on, shared by the tests of one file."""
    copy = served.copy_of(full_folder, tmp_path_factory.mktemp("full") / "data")
    use(copy.folder)
    yield copy
    connection.close()


@pytest.fixture(scope="module")
def site(full_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Plant]:
    """The full plant, served as a person serves it."""
    plant = served.copy_of(full_folder, tmp_path_factory.mktemp("walk") / "data")
    with served.serving(plant):
        yield plant


@pytest.fixture(scope="module")
def manager(site: Plant, chromium: Browser) -> Iterator[Watched]:
    """The manager's browser, signed in; nothing it does may be a fault."""
    assert site.served
    with watched(chromium, site.served.address, site.served.said["live"]) as seen:
        sign_in(seen, "mfarrow", site.password)
        assert seen.taken() == []
        yield seen


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Says how many cells of the matrices were asked."""
    reports = terminalreporter.stats.get("passed", [])
    said = [value for one in reports for key, value in getattr(one, "user_properties", ()) if key == "cells"]
    if said:
        terminalreporter.write_line("cells asked: " + "; ".join(said))

"""A database a test: a copy of a template made once. Nothing flushes evidence."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

TEMPLATE = Path(tempfile.mkdtemp(prefix="isohume-template-"))
os.environ["ISOHUME_DATA"] = str(TEMPLATE)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "isohume.outlets.site.config.settings")

import django  # noqa: E402

django.setup()

from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402

from isohume.bench.record.store import open_store  # noqa: E402

settings.ALLOWED_HOSTS.append("testserver")
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # argon2 is slow on purpose


def _use(folder: Path) -> None:
    connection.close()
    connection.settings_dict["NAME"] = folder / "isohume.sqlite3"
    settings.DATA = folder


@pytest.fixture(scope="session")
def template() -> Iterator[Path]:
    """The template's folder: an empty site with its tables and its evidence."""
    _use(TEMPLATE)
    open_store(TEMPLATE).close()
    call_command("migrate", run_syncdb=True, verbosity=0)
    connection.close()
    yield TEMPLATE
    shutil.rmtree(TEMPLATE, ignore_errors=True)


@pytest.fixture
def site_db(template: Path, tmp_path: Path) -> Iterator[Path]:
    """A fresh site; returns its data folder."""
    folder = tmp_path / "data"
    shutil.copytree(template, folder)
    _use(folder)
    yield folder
    _use(template)


@pytest.fixture
def client(site_db: Path) -> Client:
    """A browser without a browser; `client.force_login(person, BACKEND)` signs in."""
    return Client()

"""The bench day every test of checks starts from."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client
from tests.outlets.site.checks.day import BACKEND, NOW, Day, make_day


@pytest.fixture
def day(site_db: Path) -> Day:
    """A fresh plant before its first check."""
    return make_day()


@pytest.fixture
def bench(day: Day, client: Client, monkeypatch: pytest.MonkeyPatch) -> Client:
    """The analyst's browser, with the server's clock at the day's nine o'clock."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    client.force_login(day.analyst, BACKEND)
    return client

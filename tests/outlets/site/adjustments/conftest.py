"""The morning every test of adjustments starts from."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client
from tests.outlets.site.adjustments.bench import BACKEND, NOW, Morning, make_morning


@pytest.fixture
def morning(site_db: Path) -> Morning:
    """A fresh plant, started, before its first check."""
    return make_morning()


@pytest.fixture
def manager(morning: Morning, client: Client, monkeypatch: pytest.MonkeyPatch) -> Client:
    """The manager's browser, with the server's clock at nine."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    client.force_login(morning.manager, BACKEND)
    return client

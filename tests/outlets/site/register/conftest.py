"""The register's tests all run on one morning: what is due depends on the day."""

from __future__ import annotations

import pytest
from django.utils import timezone
from tests.outlets.site import make


@pytest.fixture(autouse=True)
def _that_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: make.NOW)

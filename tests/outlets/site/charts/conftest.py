"""A plant whose instrument is checked every morning, and lets charts be made of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.test import Client
from tests.outlets.site.checks.day import BACKEND, MGCL2_AT_25, NACL_AT_25, NOW, Day, make_day

from isohume.outlets.site.charts.models import Chart

STEADY = (0.0010, -0.0010, 0.0004, -0.0006, 0.0008, -0.0002, 0.0002, -0.0008, 0.0006, -0.0004)
"""Ten deviations about nothing, in an order in which no rule speaks."""
Mornings = Callable[[Sequence[float]], list[datetime]]


@pytest.fixture
def day(site_db: Path) -> Day:
    """A plant before its first check, with bottles opened four months ago."""
    made = make_day()
    for bottle in (made.mgcl2, made.nacl):
        bottle.opened_at = NOW - timedelta(days=125)
        bottle.save()
    return made


@pytest.fixture
def mornings(day: Day) -> Mornings:
    """`mornings(deviations)`: a check a day, in which NaCl reads so far from what it should; MgCl2 stays steady."""
    done: list[datetime] = []

    def made(deviations: Sequence[float]) -> list[datetime]:
        for deviation in deviations:
            at = NOW - timedelta(days=100) + timedelta(days=len(done))
            day.start(at - timedelta(minutes=30))
            steady = f"{MGCL2_AT_25 + STEADY[len(done) % 10]:.4f}"
            day.check(at, mgcl2=steady, nacl=f"{NACL_AT_25 + deviation:.4f}")
            done.append(at)
        return done

    return made


@pytest.fixture
def nacl(day: Day) -> Callable[[], Chart]:
    """The chart of NaCl on the instrument."""
    return lambda: Chart.objects.get(instrument=day.instrument, solution="NaCl")


@pytest.fixture
def manager(day: Day, client: Client, monkeypatch: pytest.MonkeyPatch) -> Client:
    """The manager's browser, with the server's clock at the day's nine o'clock."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    client.force_login(day.manager, BACKEND)
    return client

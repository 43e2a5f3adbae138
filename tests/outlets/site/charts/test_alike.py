"""A phase whose values are all alike takes nothing away from the others: they keep limits, signals and tasks."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from tests.outlets.site.charts.conftest import STEADY
from tests.outlets.site.checks.day import BACKEND, NOW, Day

from isohume.foundation.metrology.charts_by_point import ChartRules
from isohume.outlets.site.charts.alike import without_limits
from isohume.outlets.site.charts.models import ChartEvent
from isohume.outlets.site.charts.rules import rule_of
from isohume.outlets.site.charts.series import look
from isohume.outlets.site.lots.models import Deviation

LOW = -0.0003


def event(day: Day, at) -> None:
    ChartEvent.objects.create(instrument=day.instrument, at=at, what="moved", by=day.manager, entered_at=at)


@pytest.mark.parametrize("between", [(0.0005, 0.0005), (0.0005, 0.0004)])
def test_two_equal_checks_between_two_events_hide_no_drift(day: Day, mornings, nacl, between) -> None:
    event(day, mornings(STEADY * 2)[-1] + timedelta(hours=12))
    event(day, mornings(between)[-1] + timedelta(hours=12))
    mornings([*STEADY * 2, 0.0005, *[LOW] * 8])
    seen = look(nacl(), rule_of(nacl()).as_rules(), NOW)
    assert seen.control is not None
    assert [phase.sigma == 0.0 for phase in seen.control.phases] == [False, between[0] == between[1], False]
    assert [signal.rule for signal in seen.now] == ["8 on one side"]
    assert Deviation.objects.filter(kind="chart signal").count() == 1


def test_the_page_says_that_such_a_phase_is_not_judged(
    day: Day, mornings, nacl, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    event(day, mornings(STEADY * 2)[-1] + timedelta(hours=12))
    event(day, mornings((0.0005, 0.0005))[-1] + timedelta(hours=12))
    mornings(STEADY)
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    client.force_login(day.manager, BACKEND)
    page = client.get(nacl().get_absolute_url()).content.decode()
    assert "values all alike: no limits, and nothing is judged" in page


def test_equal_values_in_the_newest_phase_are_said_in_place_of_limits(day: Day, mornings, nacl) -> None:
    event(day, mornings(STEADY * 2)[-1] + timedelta(hours=12))
    mornings((0.0005,) * 3)
    seen = look(nacl(), rule_of(nacl()).as_rules(), NOW)
    assert seen.control is None
    assert "all alike" in seen.why_none


@pytest.mark.parametrize("kind", ["individuals", "ewma", "cusum"])
def test_such_a_phase_has_as_many_points_as_values_and_no_signal(kind: str) -> None:
    found = without_limits((0.5, 0.5, 0.5), ChartRules(kind=kind))
    assert [len(x) for x in (found.statistic, found.limits, found.ranges)] == [3, 3, 3]
    assert (found.signals, found.range_signals, found.ranges[1:]) == ((), (), (0.0, 0.0))
    assert len(found.high) == (3 if kind == "cusum" else 0)

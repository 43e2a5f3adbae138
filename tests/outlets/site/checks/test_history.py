"""The weeks of an instrument's references: series, breaks, and the drawing."""

from __future__ import annotations

from datetime import timedelta
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.outlets.site.checks.day import MGCL2_AT_25, NOW, Day

from isohume.outlets.site.checks.actions.log_cleaning import LogCleaning
from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.checks.history import History, history
from isohume.outlets.site.checks.pictures import charts_of, drawn_breaks
from isohume.outlets.site.ledger.actions import perform

DAY, HOUR = timedelta(days=1), timedelta(hours=1)


@pytest.fixture
def weeks(day: Day) -> History:
    """Five days: good, cleaned and good, failed, void, good again; and one check older than the window."""
    day.mgcl2.opened_at = day.nacl.opened_at = NOW - 60 * DAY
    day.mgcl2.save()
    day.nacl.save()
    for ago, nacl in ((40, "0.7530"), (5, "0.7530"), (4, "0.7541"), (3, "0.3283"), (2, "0.7700"), (1, "0.7525")):
        day.start(NOW - ago * DAY - timedelta(hours=1))
        check = day.check(NOW - ago * DAY, nacl=nacl)
        if ago == 5:
            perform(LogCleaning(day.instrument, "chamber", ""), day.by(NOW - 4 * DAY - timedelta(hours=2)))
        if ago == 2:
            check.deviations.update(closed_at=NOW - DAY)
            perform(VoidCheck(check, "no crystals left"), day.by(NOW - DAY, day.manager))
    return history(day.instrument, NOW)


def test_each_reference_has_its_points_in_time_order_the_lowest_reference_first(weeks: History) -> None:
    assert [s.name for s in weeks.series] == ["MgCl2 saturated", "NaCl saturated"]
    mgcl2, nacl = weeks.series
    assert len(mgcl2.points) == len(nacl.points) == 5  # the check of 40 days ago is older than the window
    assert mgcl2.points[0].deviation == pytest.approx(0.3281 - MGCL2_AT_25, abs=0.0001)
    assert [p.within for p in nacl.points] == [True, True, False, False, True]
    assert [p.void for p in nacl.points] == [False, False, False, True, False]


def test_cleanings_and_failed_checks_break_the_course_void_ones_do_not(weeks: History) -> None:
    assert [stop.what for stop in weeks.breaks] == ["cleaning", "failed check"]


def test_each_reference_is_drawn_between_the_limits_with_its_breaks(weeks: History) -> None:
    charts = charts_of(weeks, ZoneInfo("Europe/London"))
    assert [chart.name for chart in charts] == ["MgCl2 saturated", "NaCl saturated"]
    nacl = str(charts[1].drawn.svg)
    texts = [element.text for element in ElementTree.fromstring(nacl).iter("{http://www.w3.org/2000/svg}text")]
    assert "cleaning" in texts
    assert "failed check" in texts
    assert "style=" not in nacl
    # three readings are within (one of them after the break), one is beyond, one is void
    assert [nacl.count(f'class="{mark}"') for mark in ("within", "beyond")] == [3 + 1, 1 + 1]  # and each in the key
    assert nacl.count('class="limit"') == 2


def test_the_same_stands_in_the_table_in_the_plants_time(weeks: History) -> None:
    rows = charts_of(weeks, ZoneInfo("Europe/London"))[1].drawn.rows
    states = [row[2] for row in rows]
    assert states == ["within", "event", "within", "beyond", "event", "void", "within"]
    assert rows[0][0] == "2026-09-11 10:06"  # 09:06 UTC


def test_routine_cleanings_are_not_named_on_the_chart_those_after_a_failed_check_are(day: Day) -> None:
    day.mgcl2.opened_at = day.nacl.opened_at = NOW - 60 * DAY
    day.mgcl2.save()
    day.nacl.save()
    for ago in range(9, 0, -1):
        at = NOW - ago * DAY
        perform(LogCleaning(day.instrument, "chamber", ""), day.by(at - 3 * HOUR))
        day.start(at - 2 * HOUR)
        day.check(at, nacl="0.7400" if ago == 4 else "0.7530")
        if ago == 4:
            perform(LogCleaning(day.instrument, "rim, syrup", ""), day.by(at + HOUR))
            day.check(at + 2 * HOUR)
    found = history(day.instrument, NOW)
    assert len(found.breaks) == 11
    assert [(stop.what, (NOW - stop.at).days) for stop in drawn_breaks(found)] == [("failed check", 3), ("cleaning", 3)]


def test_the_weeks_are_read_in_two_queries(day: Day, weeks: History) -> None:
    with CaptureQueriesContext(connection) as queries:
        history(day.instrument, NOW)
    assert len(queries) == 2


def test_an_instrument_never_checked_has_an_empty_history(day: Day) -> None:
    assert history(day.instrument, NOW).series == ()

"""Points kept between looks are those of the database, or are read anew; questions are answered from indexes."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.outlets.site.charts.conftest import STEADY
from tests.outlets.site.checks.day import NOW, Day

from isohume.foundation.metrology.charts_by_point import KINDS, ChartRules, control_chart
from isohume.outlets.site.adjustments.models import MOVES
from isohume.outlets.site.charts import kept_page, kept_points
from isohume.outlets.site.charts.events import EVENTS
from isohume.outlets.site.charts.joined import joined
from isohume.outlets.site.charts.kept_page import chart_page
from isohume.outlets.site.charts.kept_points import SUMS, checks_kept
from isohume.outlets.site.charts.models import Chart, ChartPoint
from isohume.outlets.site.charts.points import rebuild_points
from isohume.outlets.site.charts.seen import Seen, SeenPoints
from isohume.outlets.site.charts.series import CHECKS, VOID, checks_between
from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.ledger.notes import note


@pytest.fixture(autouse=True)
def _nothing_kept(day: Day, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    kept_page._KEPT.clear()
    kept_points._KEPT.clear()


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many points each reading brought."""
    found: list[int] = []

    def counting(*args, **named) -> SeenPoints:
        points = checks_between(*args, **named)
        found.append(len(points))
        return points

    monkeypatch.setattr(kept_points, "checks_between", counting)
    return found


def test_after_another_check_only_its_point_is_read(mornings, nacl, read: list[int]) -> None:
    mornings(STEADY)
    checks_kept(nacl(), None, NOW)
    mornings(STEADY[:1])
    assert checks_kept(nacl(), None, NOW) == checks_between(nacl(), None, NOW)
    checks_kept(nacl(), None, NOW)
    assert read == [10, 1, 0]


def _void(day: Day) -> None:
    perform(VoidCheck(Check.objects.latest("pk"), "cup spilled"), By(day.manager, NOW))


def _void_the_first(_: Day) -> None:
    first = Check.objects.earliest("pk")
    Check.objects.filter(pk=first.pk).update(voided_at=NOW)


def _altered(_: Day) -> None:
    point = ChartPoint.objects.filter(chart__solution="NaCl").earliest("pk")
    ChartPoint.objects.filter(pk=point.pk).update(value=point.value + 2e-6)


def _no_longer_within(_: Day) -> None:
    ChartPoint.objects.filter(pk=ChartPoint.objects.filter(chart__solution="NaCl").earliest("pk").pk).update(
        within=False
    )


def _one_gone(_: Day) -> None:
    ChartPoint.objects.filter(chart__solution="NaCl").latest("pk").delete()


def _rebuilt_from_less(_: Day) -> None:
    rebuild_points(Check.objects.order_by("pk")[2:])


@pytest.mark.parametrize("change", [_void, _void_the_first, _altered, _no_longer_within, _one_gone, _rebuilt_from_less])
def test_what_is_no_longer_so_is_read_anew(day: Day, mornings, nacl, read: list[int], change) -> None:
    """Also what no action does: nothing is believed because it was kept."""
    mornings(STEADY)
    before = checks_kept(nacl(), None, NOW)
    change(day)
    after = checks_kept(nacl(), None, NOW)
    assert after == checks_between(nacl(), None, NOW) != before
    assert read[-1] == len(after)


def test_points_of_another_time_or_phase_are_not_taken_for_these(mornings, nacl) -> None:
    at = mornings(STEADY)
    for begin, until in ((None, NOW), (at[4], NOW), (None, at[6]), (at[4], at[6]), (None, NOW)):
        assert checks_kept(nacl(), begin, until) == checks_between(nacl(), begin, until)


def test_no_more_is_kept_than_so_many_charts(mornings, nacl, monkeypatch: pytest.MonkeyPatch) -> None:
    at = mornings(STEADY)
    monkeypatch.setattr(kept_points, "MOST", 3)
    for begin in at:
        checks_kept(nacl(), begin, NOW)
    assert len(kept_points._KEPT) == 3


def test_a_line_about_something_else_makes_no_new_page_and_a_new_check_does(day: Day, mornings, nacl) -> None:
    mornings(STEADY * 2)
    first = chart_page(day.site, nacl().pk, "", "year")
    note("site_set_up", day.site.ref, NOW, "Manager")
    again = chart_page(day.site, nacl().pk, "", "year")
    assert again.line > first.line
    assert again.picture is first.picture
    mornings(STEADY[:1])
    later = chart_page(day.site, nacl().pk, "", "year")
    assert later.picture != first.picture
    assert later.rows.endswith(first.rows)  # the newest first; what was written before stays


def test_rows_are_written_anew_where_the_plants_time_is_another(day: Day, mornings, nacl) -> None:
    mornings(STEADY)
    first = chart_page(day.site, nacl().pk, "", "year")
    day.site.time_zone = "Asia/Kolkata"
    day.site.save()
    note("site_set_up", day.site.ref, NOW, "Manager")
    later = chart_page(day.site, nacl().pk, "", "year")
    assert len(later.rows) == len(first.rows)
    assert set(later.table.written).isdisjoint(first.table.written)


def test_whatever_people_type_stays_where_they_typed_it(day: Day, manager, mornings, nacl) -> None:
    """The places at which picture and rows are set in cannot be named by anybody: what is typed is escaped."""
    mornings(STEADY)
    day.instrument.name = "<!-- picture --><!-- rows -->"
    day.instrument.save()
    note("site_set_up", day.site.ref, NOW, "Manager")
    page = manager.get(f"{nacl().get_absolute_url()}?span=year").content.decode()
    assert "<!-- picture -->" not in page
    assert "<!-- rows -->" not in page
    assert "&lt;!-- picture --&gt;" in page
    assert page.count('<path class="within"') == 2


def _plan(sql: str, *given: object) -> str:
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}", given)
        return "\n".join(row[3] for row in cursor.fetchall())


def test_points_and_sums_are_answered_from_indexes_alone(mornings, nacl) -> None:
    """A chart's points lie among those of every other chart; void checks are few and found by themselves."""
    mornings(STEADY[:2])
    chart: Chart = nacl()
    sums = SUMS.format(nano=kept_points.NANO, not_void="AND of_check_id NOT IN (1, 2)")
    for sql, more in ((CHECKS, [0]), (sums, [])):
        plan = _plan(sql, chart.pk, 0, 2**40, *more)
        assert plan.startswith("SEARCH charts_chartpoint USING COVERING INDEX chart_point_shown")
    assert _plan(VOID, chart.instrument_id).endswith("INDEX chart_void_checks (instrument_id=?)")
    of = chart.instrument_id
    assert "INDEX chart_point_of_new_lot (chart_id=?)" in _plan(EVENTS, of, *MOVES, of, chart.pk, of, chart.pk)


def test_a_first_look_asks_few_questions(day: Day, mornings, nacl) -> None:
    mornings(STEADY)
    chart = nacl()
    with CaptureQueriesContext(connection) as asked:
        chart_page(day.site, chart.pk, "", "year")
    assert len(asked) == 8  # the ledger's lines, chart, rule, events, void, points, whether there is history, tasks


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(5))
def test_phases_joined_are_the_chart_of_all(kind: str, seed: int) -> None:
    chance = random.Random(seed)
    values = [chance.gauss(0.0, 1.0) + place // 30 for place in range(90)]
    edges = [0, *sorted(chance.sample(range(5, 85, 5), seed)), 90]
    rules = ChartRules(kind=kind, baseline=chance.choice((5, 20)))
    parts = [control_chart(values[start:end], rules) for start, end in pairwise(edges)]
    assert joined(parts) == control_chart(values, rules, breaks=edges)


def test_columns_are_points() -> None:
    points = [Seen(1, 0.5, 7), Seen(2, 0.6, 8, False, True), Seen(3, 0.7, 9, False), Seen(4, 0.8, 10)]
    columns = SeenPoints.of_rows(points)
    assert list(columns) == points
    assert columns[1] == points[1]
    assert list(columns[1:3]) == points[1:3]
    assert list(columns.that_count()) == [points[0], points[3]]
    assert columns[:2].followed_by(columns[2:]) == columns
    assert columns != replace(columns, value=(0.5, 0.6, 0.7, 0.9))
    assert not SeenPoints.of_rows([])

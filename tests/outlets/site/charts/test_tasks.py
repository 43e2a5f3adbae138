"""Signals become tasks when a check is recorded: on the right point, once, and not for what a failed check answers."""

from __future__ import annotations

from datetime import timedelta

from tests.outlets.site.charts.conftest import STEADY
from tests.outlets.site.checks.day import NOW, Day

from isohume.outlets.site.charts.actions.choose_rules import ChooseRules
from isohume.outlets.site.charts.actions.review_charts import ReviewCharts
from isohume.outlets.site.charts.models import ChartPoint
from isohume.outlets.site.charts.points import rebuild_points
from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.models import Deviation

LOW = -0.0003
"""Within every limit; a run of such readings is what a slow drift looks like."""


def tasks():
    return Deviation.objects.filter(kind="chart signal").order_by("pk")


def test_eight_in_a_row_open_a_task_with_the_eighth_check(day: Day, mornings) -> None:
    mornings([*STEADY * 2, 0.0005, *[LOW] * 7])
    assert not tasks().exists()
    mornings([LOW])
    task = tasks().get()
    assert task.what.startswith("Chart of NaCl on OW-1: 8 on one side, low, over 8 points, since 2026-06-")
    assert task.about == day.instrument.ref
    assert task.owner is None
    assert task.closed_at is None
    assert "look at the other references and at another bottle" in task.what


def test_the_same_run_of_points_opens_no_other_task(day: Day, mornings) -> None:
    mornings([*STEADY * 2, 0.0005, *[LOW] * 14])
    assert tasks().count() == 1


def test_point_after_point_beyond_its_limit_is_one_task(day: Day, mornings) -> None:
    perform(ChooseRules(day.site, None, rules=("beyond 3 sigma",), reason="Few checks"), By(day.manager, NOW))
    quiet = [0.4 * deviation for deviation in STEADY]
    mornings([*quiet * 2, *[0.0018] * 3])
    assert tasks().count() == 1
    mornings([*quiet[:2], 0.0018])
    assert tasks().count() == 2


def test_another_run_opens_another_task(day: Day, mornings) -> None:
    mornings([*STEADY * 2, 0.0005, *[LOW] * 9, *STEADY, 0.0005, *[LOW] * 8])
    assert tasks().count() == 2
    mornings([*STEADY[:2], *[0.0003] * 8])
    assert [" low," in task.what for task in tasks()] == [True, True, False]


def test_too_short_a_phase_opens_none(day: Day, mornings) -> None:
    # limits of the first two or three readings would signal almost anything
    mornings([0.0001, 0.0, 0.0045, 0.0040])
    assert not tasks().exists()


def test_a_failed_check_is_no_point_and_no_signal(day: Day, mornings) -> None:
    mornings([*STEADY * 2, -0.0120])
    assert Deviation.objects.get().kind == "failed check"
    mornings(STEADY)
    assert not tasks().exists()


def test_a_void_check_is_taken_out_of_the_run(day: Day, mornings) -> None:
    mornings([*STEADY * 2, 0.0005, *[LOW] * 7])
    void = Check.objects.latest("last_read_at")
    perform(VoidCheck(void, "wrong dish"), By(day.manager, NOW))
    mornings([LOW])
    assert not tasks().exists()
    mornings([LOW])
    assert tasks().count() == 1


def test_rules_of_the_laboratory_decide(day: Day, mornings) -> None:
    rules = ChooseRules(day.site, None, rules=("beyond 3 sigma",), reason="fewer signals for nothing")
    perform(rules, By(day.manager, NOW - timedelta(days=121)))
    mornings([*STEADY * 2, 0.0005, *[LOW] * 12])
    assert not tasks().exists()
    wider = ChooseRules(day.site, None, rules=("beyond 3 sigma", "8 on one side"), reason="drift was seen late")
    perform(wider, By(day.manager, NOW))
    assert not tasks().exists()  # choosing rules judges nothing by itself
    (opened,) = perform(ReviewCharts(day.site), By(day.manager, NOW))
    assert opened == tasks().get()
    assert perform(ReviewCharts(day.site), By(day.manager, NOW)) == []


def test_a_weighted_average_finds_what_single_readings_hide(day: Day, mornings) -> None:
    ewma = ChooseRules(day.site, None, kind="ewma", rules=("beyond 3 sigma",), reason="slow drift matters most")
    perform(ewma, By(day.manager, NOW - timedelta(days=121)))
    mornings([*STEADY * 2, *[value - 0.0012 for value in STEADY]])
    assert "beyond the limits, low" in tasks().first().what


def test_points_can_be_rebuilt_from_the_checks(day: Day, mornings) -> None:
    mornings(STEADY)
    fields = ("chart_id", "of_check_id", "at_s", "value", "within", "lot", "new_lot")
    before = list(ChartPoint.objects.order_by("of_check_id", "chart_id").values_list(*fields))
    assert len(before) == 20
    assert rebuild_points() == 20
    assert list(ChartPoint.objects.order_by("of_check_id", "chart_id").values_list(*fields)) == before

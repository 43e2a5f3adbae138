"""A chart's page is kept until the ledger says something that a chart shows, or time changes it; never longer."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.outlets.site import make
from tests.outlets.site.charts.conftest import STEADY
from tests.outlets.site.checks.day import NOW, Day

from isohume.outlets.site.charts.actions.add_event import AddEvent
from isohume.outlets.site.charts.actions.control_product import MarkControlProduct
from isohume.outlets.site.charts.kept_page import _KEPT, BENCH_WORK, chart_page
from isohume.outlets.site.ledger.actions import ACTIONS, By, perform
from isohume.outlets.site.ledger.notes import NOTES, note


def answered(manager, chart, span: str = "year") -> tuple[str, bool]:
    """The page's words, and whether its points were read for it."""
    with CaptureQueriesContext(connection) as asked:
        page = manager.get(f"{chart.get_absolute_url()}?span={span}").content.decode()
    return page, any("charts_chartpoint" in query["sql"] for query in asked.captured_queries)


def bare(page: str) -> str:
    """Without what differs from answer to answer: the token of forms."""
    return re.sub(r'value="\w{64}"|"X-CSRFToken": "\w{64}"|ledger_at=\d+', "", page)


def test_a_second_look_reads_no_point_and_shows_the_same(manager, mornings, nacl) -> None:
    mornings(STEADY * 2)
    first, read = answered(manager, nacl())
    assert read
    again, read = answered(manager, nacl())
    assert not read
    assert bare(again) == bare(first)


def test_the_days_work_at_the_bench_leaves_it_and_everything_else_does_not(day: Day, manager, mornings, nacl) -> None:
    mornings(STEADY * 2)
    answered(manager, nacl())
    note("signed_in", day.manager.ref, NOW, "Manager")
    assert not answered(manager, nacl())[1]
    note("site_set_up", day.site.ref, NOW, "Manager")
    assert answered(manager, nacl())[1]


def test_an_event_and_a_deviation_closed_are_seen_at_once(day: Day, manager, mornings, nacl) -> None:
    mornings([*STEADY, *STEADY])
    answered(manager, nacl())
    perform(AddEvent(nacl(), "moved", f"{(NOW - timedelta(days=90)).date()}T12:00", reason="other bench"),
            By(day.manager, NOW))  # fmt: skip
    page, _ = answered(manager, nacl())
    assert "moved" in page


def test_a_control_products_chart_heeds_every_line(day: Day, manager, mornings) -> None:
    mornings(STEADY)
    product = make.make_product(day.method)
    chart = perform(MarkControlProduct(day.site, product, day.instrument, "", "kept batch"), By(day.manager, NOW))
    chart_page(day.site, chart.pk, "", "year")
    (key,) = _KEPT.keys() & {k for k in _KEPT if k[2] == chart.pk}
    before = _KEPT[key].line
    note("signed_in", day.manager.ref, NOW, "Manager")
    chart_page(day.site, chart.pk, "", "year")
    assert _KEPT[key].line == before + 1


def test_time_alone_makes_it_another_page(day: Day, mornings, nacl, monkeypatch: pytest.MonkeyPatch) -> None:
    """Checks from the 100th day ago on: those older than a quarter are not in it, and tomorrow one more."""
    mornings(STEADY * 2)
    rows = []
    for later in (0, 1):
        monkeypatch.setattr("django.utils.timezone.now", lambda later=later: NOW + timedelta(days=later))
        shown = chart_page(day.site, nacl().pk, "", "quarter").rows.decode()
        rows.append(len(re.findall(r'<tr><th scope="row"><a href="/check', shown)))
    assert rows[0] == rows[1] + 1 > 1


def test_what_is_kept_ends_at_the_plants_midnight_or_earlier(day: Day, mornings, nacl, manager) -> None:
    mornings(STEADY * 2)
    kept = chart_page(day.site, nacl().pk, "", "quarter")
    assert NOW < kept.until <= NOW + timedelta(days=1)


def test_every_line_that_is_left_aside_is_a_kind_the_ledger_has() -> None:
    assert set(BENCH_WORK) <= set(ACTIONS) | set(NOTES)

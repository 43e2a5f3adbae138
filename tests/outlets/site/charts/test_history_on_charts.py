"""Past checks from spreadsheets on a chart: a phase of their own, limits only at the beginning, never a task."""

from __future__ import annotations

import re
import statistics
from datetime import date, timedelta
from itertools import pairwise

import pytest
from tests.outlets.site.charts.conftest import STEADY
from tests.outlets.site.checks.day import NOW, Day

from isohume.outlets.site.charts.actions.add_event import AddEvent
from isohume.outlets.site.charts.from_history import with_history
from isohume.outlets.site.charts.models import ChartSignal
from isohume.outlets.site.charts.rules import rule_of
from isohume.outlets.site.charts.series import FEWEST, Look, look
from isohume.outlets.site.incoming.actions.bring_history import BringHistory
from isohume.outlets.site.incoming.models import HistoricFile
from isohume.outlets.site.incoming.queries import is_reference
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.models import Deviation

FIRST_OWN = (NOW - timedelta(days=100)).date()
PAST = tuple(off + 0.0002 for off in STEADY) * 2
"""Twenty past checks, on average 0.0002 high."""


def bring(day: Day, deviations=PAST, last: date = FIRST_OWN - timedelta(days=1), reference: str = "NaCl"):
    """Past checks of NaCl, one a day, until a day."""
    rows = [
        f"{last - timedelta(days=len(deviations) - 1 - n)},{day.instrument.name},{reference},0.7530,{0.7530 + off:.4f}"
        for n, off in enumerate(deviations)
    ]
    content = "\n".join(["date,instrument,reference,expected_a_w,a_w", *rows]).encode()
    return perform(BringHistory(day.site, "checks", "old.csv", content, "bench book"), By(day.manager, NOW))


def seen_of(chart) -> Look:
    return with_history(look(chart, rule_of(chart).as_rules(), NOW))


def test_they_are_a_phase_of_their_own_and_change_nothing_of_the_own_ones(day: Day, mornings, nacl) -> None:
    mornings(STEADY * 2)
    alone = look(nacl(), rule_of(nacl()).as_rules(), NOW)
    bring(day)
    seen = seen_of(nacl())
    past, own = seen.control.phases
    assert (past.start, past.end, own.start, own.end) == (0, 20, 20, 40)
    assert past.center == pytest.approx(0.0002, abs=1e-9)
    assert past.center == pytest.approx(statistics.fmean(PAST), abs=1e-9)
    assert (own.center, own.sigma) == (alone.control.center, alone.control.sigma)
    assert seen.control.limits[20:] == alone.control.limits
    assert not seen.seeded
    assert [what for _, what in seen.starts] == ["historical, unverified", "own checks"]


def test_the_page_says_what_they_are_in_picture_and_table(day: Day, manager, mornings, nacl) -> None:
    mornings(STEADY)
    kept = bring(day)
    page = manager.get(nacl().get_absolute_url() + "?span=year").content.decode()
    assert "20 past checks from spreadsheets, historical, unverified. They open no task and release nothing." in page
    drawn = re.search(r'<path class="historic" d="([^"]*)"', page)[1]
    assert drawn.count("M") == 20
    rows = [row for row in re.findall(r"<tr>.*?</tr>", page) if "historical, unverified</td>" in row]
    assert sum(f'href="{HistoricFile.objects.get(pk=kept.pk).get_absolute_url()}"' in row for row in rows) == 20
    assert page.index("own checks") > 0


def test_limits_start_from_them_while_own_points_are_too_few_and_no_longer(day: Day, manager, mornings, nacl) -> None:
    """By hand: mean of the 20 past deviations, and 3 of their mean moving range over 1.128 to either side."""
    mornings(STEADY[: FEWEST - 2])
    bring(day)
    seen = seen_of(nacl())
    steps = [abs(b - a) for a, b in pairwise(PAST)]
    sigma = statistics.fmean(steps) / 1.128
    assert seen.seeded
    assert seen.control.limits[-1] == pytest.approx((0.0002 - 3 * sigma, 0.0002 + 3 * sigma), abs=1e-9)
    page = manager.get(nacl().get_absolute_url() + "?span=year").content.decode()
    assert f"Not known yet: {FEWEST - 2} points in this phase, {FEWEST} needed." in page
    assert f"Limits come from them until there are {FEWEST} own points." in page
    assert "limits from historical, unverified checks until there are 8 own points" in page
    mornings(STEADY[:2])
    seen = seen_of(nacl())
    assert not seen.seeded
    assert seen.control.phases[-1].center == pytest.approx(statistics.fmean([*STEADY[:6], *STEADY[:2]]), abs=1e-4)


def test_what_is_seen_against_them_is_on_the_page_and_opens_no_task(day: Day, manager, mornings, nacl) -> None:
    bring(day, [off / 2 for off in PAST])
    mornings([*STEADY[:3], 0.0025])
    page = manager.get(nacl().get_absolute_url() + "?span=year").content.decode()
    assert "beyond 3 sigma, high" in page
    assert not ChartSignal.objects.exists()
    assert not Deviation.objects.filter(kind="chart signal").exists()


def test_a_run_that_begins_in_history_is_no_signal(day: Day, mornings, nacl) -> None:
    """Seven past ones and one own one on the same side are not eight in a row."""
    bring(day, [*PAST, *[0.0009] * 7])
    mornings([0.0009])
    assert seen_of(nacl()).signals == []
    assert not ChartSignal.objects.exists()


def test_an_event_in_between_ends_what_they_say_of_limits(day: Day, mornings, nacl) -> None:
    mornings(STEADY[:5])
    bring(day, last=FIRST_OWN - timedelta(days=10))
    assert seen_of(nacl()).seeded
    event = AddEvent(nacl(), "sensor cleaned", f"{FIRST_OWN - timedelta(days=5)}T12:00", reason="drift")
    perform(event, By(day.manager, NOW))
    assert not seen_of(nacl()).seeded
    assert seen_of(nacl()).historic == 20


@pytest.mark.parametrize("reference", ["LiCl", "NaCl 6 mol/kg", "salt"])
def test_another_reference_is_not_on_this_chart(day: Day, mornings, nacl, reference: str) -> None:
    mornings(STEADY)
    bring(day, reference=reference)
    assert seen_of(nacl()).historic == 0


def test_checks_of_the_first_own_day_and_later_are_left_out(day: Day, mornings, nacl) -> None:
    mornings(STEADY)
    bring(day, last=FIRST_OWN + timedelta(days=2))
    assert seen_of(nacl()).historic == len(PAST) - 3


def test_too_few_or_all_alike_are_said_and_not_drawn(day: Day, mornings, nacl) -> None:
    mornings(STEADY)
    bring(day, [0.001] * 9)
    seen = seen_of(nacl())
    assert seen.historic == 0
    assert "too few or all alike" in seen.of_history


def test_before_the_first_point_that_counts_nothing_is_known(day: Day, manager, mornings, nacl) -> None:
    mornings([0.0300])  # a failed check
    bring(day)
    assert (seen_of(nacl()).historic, seen_of(nacl()).signals) == (20, [])
    page = manager.get(nacl().get_absolute_url() + "?span=year").content.decode()
    assert "Not known yet: 0 points in this phase, 8 needed." in page
    assert "failed, not counted" in page


@pytest.mark.parametrize("kind", ["ewma", "cusum"])
def test_every_kind_begins_with_them(day: Day, manager, mornings, nacl, kind: str) -> None:
    mornings(STEADY)
    bring(day)
    page = manager.get(f"{nacl().get_absolute_url()}?span=year&kind={kind}").content.decode()
    assert page.count('class="historic"') >= 2  # for a wide page and a small one
    assert "<td>historical, unverified</td>" in page


def test_words_for_a_reference() -> None:
    assert is_reference("nacl  Saturated", "NaCl")
    assert is_reference("NaCl", "NaCl saturated")
    assert is_reference("licl 8.57 mol/kg", "LiCl 8.57 mol/kg")
    assert not is_reference("LiCl", "LiCl 8.57 mol/kg")

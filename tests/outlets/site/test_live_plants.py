"""Plants B and C: the warm sticks, the cloves and what they leave behind, each said by the site itself (job.md 8)."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.bench.shift import words
from tests.outlets.site.browse import sign_in

from isohume.outlets.demo.live import plant_b, plant_c
from isohume.outlets.demo.live.bench import LiveBench
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.captures.kept import samples_of
from isohume.outlets.site.captures.models import CapturedRun

NOW = datetime(2026, 9, 17, 14, 0, tzinfo=UTC)
PASSWORD = "four calm oat bars"


def page_of(bench: LiveBench, address: str) -> str:
    client = Client()
    sign_in(client, bench.people["analyst"])
    return words(client.get(address))


@pytest.fixture
def smokehouse(site_db: Path) -> LiveBench:
    return plant_b.live(NOW, PASSWORD)


@pytest.fixture
def blends(site_db: Path) -> LiveBench:
    return plant_c.live(NOW, PASSWORD)


def test_the_warm_sticks_are_called_warm_and_read_again(smokehouse: LiveBench) -> None:
    warm = CapturedRun.objects.get(void_cause="warm-sample")
    said = page_of(smokehouse, warm.get_absolute_url())
    assert "the sample was warmer than the block" in said
    assert "warm sample" in said
    first = samples_of(warm)[0]
    assert float(first.a_w) == pytest.approx(0.90, abs=0.005)  # 0.8333 read 1.35 K too warm, at 6 % a kelvin
    assert float(warm.last_a_w) == pytest.approx(0.84, abs=0.007)
    accepted = Run.objects.order_by("pk")
    assert [run.stopped for run in accepted] == ["settled", "settled"]
    assert all(0.826 < float(run.a_w) < 0.832 for run in accepted)


def test_the_cloves_climb_on_one_sensor_and_not_on_the_other(blends: LiveBench) -> None:
    climbing = CapturedRun.objects.filter(void_cause="volatile").order_by("pk")
    assert [round(float(run.last_a_w), 2) for run in climbing] == [0.52, 0.54, 0.56, 0.57]
    said = page_of(blends, climbing.last().get_absolute_url())
    assert "4 reads of one cup climb from one to the next" in said
    assert "climb does not decay" in said
    assert "what climbs without slowing down has no end" in said
    assert float(Run.objects.get().a_w) == pytest.approx(0.480, abs=0.001)
    assert "volatile" in page_of(blends, Run.objects.get().portion.sample.lot.product.get_absolute_url())


def test_what_they_left_is_carried_into_the_next_reference_and_no_further(blends: LiveBench) -> None:
    first, again = CapturedRun.objects.filter(fate="waiting").order_by("pk")
    assert (round(float(first.last_a_w), 3), round(float(again.last_a_w), 3)) == (0.341, 0.329)
    assert "carry-over" in page_of(blends, first.get_absolute_url())
    said = page_of(blends, first.get_absolute_url())
    assert "Carry-over: run it again" in said
    assert "Accept the reading." not in said  # the trace's own advice gives way
    assert "carry-over" not in page_of(blends, again.get_absolute_url()).split("Void this run")[0]


def test_every_run_of_both_is_accounted_for(blends: LiveBench) -> None:
    day = blends.now.date().isoformat()
    said = page_of(blends, f"{reverse('accounting')}?from={day}&to={day}")
    assert "2 runs wait for an answer" in said
    assert "No number is missing" in said
    assert "Carry-over. Run it again" in said

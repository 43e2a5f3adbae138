"""Readings coarser than the method's criterion: on the site too they are estimates, whoever accepts them."""

from __future__ import annotations

from datetime import timedelta
from math import exp
from pathlib import Path

import pytest
from tests.outlets.site.bench.shift import NOW, Shift
from tests.outlets.site.captures.bench_agent import WARM, BenchAgent, accepts, does, expects, make_captures

from isohume.bench.reading.runs import ESTIMATE
from isohume.outlets.site.captures.judged import judged_of
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


def test_two_decimals_of_a_slow_sample_release_nothing(both: tuple[Shift, BenchAgent]) -> None:
    """A slow sample that would end at 0.68, stopped after ten minutes where three readings are alike."""
    shift, agent = both
    trace = [(f"{t}.0", f"{0.68 - 0.25 * exp(-t / 300):.2f}") for t in range(0, 600, 5)]
    sample = shift.sample(portions=2)
    for place, portion in enumerate(sample.portions.order_by("pk")):
        expects(shift, portion, 40 * place)
        captured = agent.brings(f"r{place}", trace, NOW + timedelta(minutes=40 * place + 1), **WARM)
        found = judged_of(captured).found
        assert found is not None
        assert found.finding.evidence[0].startswith("The readings are coarser than the criterion")
        run = accepts(shift, captured, 40 * place + 20).run
        assert run.stopped == ESTIMATE
        assert float(run.u_estimate) > 0.03  # 0.68 is that far off
    record = does(shift, JudgeLot(sample.lot), 90)
    assert record.disposition == "hold"

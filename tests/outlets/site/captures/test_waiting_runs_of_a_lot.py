"""No verdict and no release goes past a run that an instrument gave and nobody answered for: job.md F29."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from tests.outlets.site.bench.shift import NOW, Shift
from tests.outlets.site.captures.bench_agent import SETTLES, WARM, BenchAgent, accepts, does, expects, make_captures

from isohume.outlets.site.captures.actions.void_captured import VoidCaptured
from isohume.outlets.site.ledger.actions import Refused
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.lots.signing_rules import reasons_against

WAITS = "0043 of cup .* on OW-1 waits: accept it, or void it with its cause."


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


def test_a_lot_is_not_judged_past_a_waiting_run(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    sample = shift.sample(portions=2)
    first, second = sample.portions.order_by("pk")
    expects(shift, first)
    accepts(shift, agent.brings("r1", SETTLES, number="0042", **WARM))
    expects(shift, second, minutes=20)
    waiting = agent.brings("r2", SETTLES, NOW + timedelta(minutes=21), number="0043", **WARM)
    with pytest.raises(Refused, match=WAITS):
        does(shift, JudgeLot(sample.lot), 40)
    accepts(shift, waiting, 45)
    assert does(shift, JudgeLot(sample.lot), 50)


def test_a_lot_is_not_released_past_a_run_that_came_after_its_record(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    sample = shift.sample(portions=2)
    for number, portion in enumerate(sample.portions.order_by("pk")):
        expects(shift, portion, minutes=30 * number)
        at = NOW + timedelta(minutes=1 + 30 * number)
        accepts(shift, agent.brings(f"r{number}", SETTLES, at, number=f"004{number}", **WARM), 20 + 30 * number)
    record = does(shift, JudgeLot(sample.lot), 55)
    expects(shift, sample.portions.first(), minutes=60)
    again = agent.brings("r3", SETTLES, NOW + timedelta(minutes=61), number="0043", **WARM)
    officer = shift.bench.officer
    said = " ".join(reasons_against(record, "released", officer))  # type: ignore[arg-type]
    assert "Number 0043 of cup" in said
    does(shift, VoidCaptured(again, "no-sample", "a trial of the lid"), 75, manager=True)
    said = " ".join(reasons_against(record, "released", officer))  # type: ignore[arg-type]
    assert "0043" not in said
    manager = " ".join(reasons_against(record, "reviewed", shift.bench.manager))  # type: ignore[arg-type]
    assert "voided captured runs of lot" in manager

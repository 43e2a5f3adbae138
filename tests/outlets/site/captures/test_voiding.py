"""Voiding a captured run: a second person, with the cause before the newer number; and what must be answered first."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from tests.outlets.site.bench.shift import NOW, Shift
from tests.outlets.site.captures.bench_agent import (
    SETTLES,
    WARM,
    BenchAgent,
    accepts,
    does,
    expects,
    make_captures,
)

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.void_run import VoidRun
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.captures.actions.void_captured import VoidCaptured
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.ledger.actions import Refused
from isohume.outlets.site.ledger.trail import trail_of


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


def test_a_second_person_voids_with_a_cause(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    expects(shift, shift.portion())
    captured = agent.brings("r1", SETTLES, **WARM)
    with pytest.raises(Refused, match="a second person voids it"):
        does(shift, VoidCaptured(captured, "condensation"), 10)
    with pytest.raises(InputError, match="water condensed"):
        does(shift, VoidCaptured(captured, "it was too high"), 10, manager=True)
    with pytest.raises(InputError, match="the cause in words"):
        does(shift, VoidCaptured(captured, "other"), 10, manager=True)
    does(shift, VoidCaptured(captured, "condensation", "Drops on the block"), 10, manager=True)
    captured.refresh_from_db()
    assert (captured.fate, captured.void_cause, captured.voided_by) == ("void", "condensation", shift.bench.manager)
    line = trail_of(captured.ref)[-1]
    assert line.details["cause"] == "water condensed in cup or chamber"
    assert line.details["last_a_w"] == SETTLES[-1][1]


def test_a_run_without_a_reading_has_shown_nobody_anything(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    expects(shift, shift.portion())
    captured = agent.brings("r1", [])
    does(shift, VoidCaptured(captured, "instrument", "The line was pulled"), 10)
    orphan = agent.brings("r2", [], NOW + timedelta(minutes=12))
    does(shift, VoidCaptured(orphan, "no-sample"), 15)


def test_the_cause_comes_before_the_newer_number(both: tuple[Shift, BenchAgent]) -> None:
    """D21: of the same cup, or of one prepared after it, captured or typed; a duplicate that stood ready is none."""
    shift, agent = both
    sample = shift.sample()
    cup, duplicate = shift.portion(sample), shift.portion(sample)
    expects(shift, cup)
    first = agent.brings("r1", SETTLES, number="0042", **WARM)
    expects(shift, duplicate, 9)
    agent.brings("r2", SETTLES, NOW + timedelta(minutes=10), number="0043", **WARM)
    expects(shift, cup, 19)
    again = agent.brings("r3", SETTLES, NOW + timedelta(minutes=20), number="0044", **WARM)
    with pytest.raises(Refused, match=r"number 0044 of cup A.*the cause comes before the retest"):
        does(shift, VoidCaptured(first, "leak"), 40, manager=True)
    does(shift, VoidCaptured(again, "leak"), 41, manager=True)
    with pytest.raises(Refused, match="number 0044"):  # it was seen all the same
        does(shift, VoidCaptured(first, "leak"), 42, manager=True)
    other = shift.portion(shift.sample(shift.lot("SB-0916-04")))
    expects(shift, other, 43)
    third = agent.brings("r4", SETTLES, NOW + timedelta(minutes=44), **WARM)
    shift.run(other, "0.640", at=NOW + timedelta(minutes=115))  # the agent was not heard since
    with pytest.raises(Refused, match=r"run \d+ of cup A"):
        does(shift, VoidCaptured(third, "leak"), 116, manager=True)


def test_a_later_number_is_not_taken_before_the_first_is_answered_for(both: tuple[Shift, BenchAgent]) -> None:
    """F29: three runs of one cup, and only the one that passes in the record."""
    shift, agent = both
    cup = shift.portion()
    runs = []
    for n in range(2):
        expects(shift, cup, 20 * n - 1)
        runs.append(agent.brings(f"r{n}", SETTLES, NOW + timedelta(minutes=20 * n), number=f"004{n}", **WARM))
    with pytest.raises(Refused, match=r"after number 0040 of cup A, which waits: accept or void what was read first"):
        accepts(shift, runs[1], 40)
    with pytest.raises(Refused, match="the cause comes before the retest"):
        does(shift, VoidCaptured(runs[0], "leak"), 41, manager=True)
    accepts(shift, runs[0], 42)
    accepts(shift, runs[1], 43)
    assert Run.objects.count() == 2


def test_a_run_on_record_is_not_void_once_a_captured_retest_is_known(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    cup = shift.portion()
    run = shift.run(cup, "0.702").run
    expects(shift, cup, 9)
    agent.brings("r1", SETTLES, NOW + timedelta(minutes=10), number="0042", **WARM)
    with pytest.raises(Refused, match=r"number 0042 of cup A.*the cause comes before the retest"):
        does(shift, VoidRun(run, "Condensation"), 30, manager=True)


def test_an_orphan_is_voided_by_a_manager_and_the_line_names_what_came_after(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    orphan = agent.brings("r1", SETTLES, number="0042")
    agent.brings("r2", SETTLES, NOW + timedelta(minutes=9), number="0043")
    with pytest.raises(Refused, match="or a manager voids it"):
        does(shift, VoidCaptured(orphan, "whose-unknown", "Nobody was at the bench"), 20)
    does(shift, VoidCaptured(orphan, "whose-unknown", "Nobody was at the bench"), 20, manager=True)
    assert trail_of(orphan.ref)[-1].details["runs_after_it"] == "number 0043"


def test_a_running_run_may_be_voided_and_is_kept_to_its_end(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    expects(shift, shift.portion())
    entries = agent.run("r1", SETTLES)
    agent.post(entries[:20])
    running = CapturedRun.objects.get()
    with pytest.raises(Refused, match="still running"):
        accepts(shift, running)
    does(shift, VoidCaptured(running, "condensation"), 10, manager=True)
    agent.post(entries[20:])
    running.refresh_from_db()
    assert (running.fate, running.readings) == ("void", len(SETTLES))
    assert running.trace_sha256

"""What went wrong, from generated traces of each thing; 1,000 a class are in docs/proof/settling.md."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from tests.bench.reading.settling.bench_trouble import MADE
from tests.bench.reading.settling.generator import Made

from isohume.bench.reading.diagnosis.diagnose import TraceJudged, judge_trace
from isohume.bench.reading.diagnosis.finding import DIAGNOSES
from isohume.bench.reading.settling.trace import trace_of

SIX = ("settled", "slow", "warm sample", "condensation", "leak", "volatile")


def judged(made: Made, ended: bool = True) -> TraceJudged:
    trace = trace_of(made.elapsed_s, made.a_w, made.sample_c, made.block_c, made.room)
    return judge_trace(trace, ended=ended)


@pytest.mark.parametrize("what", SIX)
def test_six_seeded_curves_give_six_right_diagnoses(what: str) -> None:
    found = judged(MADE[what](np.random.default_rng(1)))
    assert found.finding.diagnosis == what
    assert all(found.finding.evidence)
    assert found.finding.action.endswith(".")


@pytest.mark.parametrize("what", MADE)
def test_most_are_right(what: str) -> None:
    rng = np.random.default_rng(7)
    said = Counter(judged(MADE[what](rng)).finding.diagnosis for _ in range(30))
    assert said[what] >= 23, said  # of a class that is right in nine of ten: three standard deviations below 27
    assert set(said) <= set(DIAGNOSES)


def test_only_what_has_settled_has_a_value() -> None:
    rng = np.random.default_rng(3)
    for what, make in MADE.items():
        made = make(rng)
        found = judged(made)
        assert (found.value is not None) == found.settled == (found.finding.diagnosis == "settled"), what
    made = MADE["settled"](rng)
    found = judged(made)
    assert found.value == pytest.approx(made.truth, abs=0.005)
    assert found.u is not None
    assert 0.0 < found.u < 0.003


T = np.arange(0.0, 600.0, 2.0)


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        (np.where(T < 90, 0.30, 0.85 - 0.55 * np.exp(-np.maximum(T - 90, 0) / 40)), {"unfamiliar"}),  # a dead start
        (0.80 - 0.3 * np.exp(-T / 25) - 0.10 * (T > 400), {"unfamiliar"}),  # a step down
        (0.80 - 0.3 * np.exp(-T / 25) - np.maximum(T - 300, 0) * 0.005 / 60, {"unfamiliar", "leak"}),  # the lid opens
        (0.86 - 0.2 * np.exp(-T / 20) - 0.025 * np.exp(-T / 1500), {"slow"}),  # a creep that the criterion does not see
    ],
)
def test_what_met_the_criterion_and_left_it_is_not_settled(readings: np.ndarray, said: set[str]) -> None:
    rng = np.random.default_rng(4)
    found = judge_trace(trace_of(T, np.round(readings + rng.normal(size=T.size) * 5e-5, 4)))
    assert found.finding.diagnosis in said, found.finding
    assert (found.settled, found.value, found.u) == (False, None, None)


def test_two_readings_settle_nothing() -> None:
    found = judge_trace(trace_of([0.0, 60.0, 120.0], [0.50, 0.86, 0.8603]))
    assert (found.settled, found.u) == (False, None)


def test_blank_cells_of_the_room_leave_the_leak_to_be_seen() -> None:
    made = MADE["leak"](np.random.default_rng(1))
    assert made.room is not None
    assert judged(made).finding.diagnosis == "leak"
    made.room[::9] = np.nan
    assert judged(made).finding.diagnosis == "leak"


def test_a_run_that_goes_on_is_not_stopped_early() -> None:
    made = MADE["stopped early"](np.random.default_rng(5))
    assert judged(made).finding.diagnosis == "stopped early"
    assert judged(made, ended=False).finding.diagnosis == "still moving"


def test_too_few_readings_say_so() -> None:
    found = judge_trace(trace_of([0.0, 5.0, 10.0], [0.5, 0.52, 0.53]), ended=False)
    assert (found.finding.diagnosis, found.forecast, found.value) == ("still moving", None, None)


def test_temperature_of_the_sample_tells_a_cold_one_from_a_slow_one() -> None:
    cold = MADE["cold sample"](np.random.default_rng(2))
    assert judged(cold).finding.diagnosis == "cold sample"
    cold.sample_c = cold.block_c = None
    assert judged(cold).finding.diagnosis != "cold sample"

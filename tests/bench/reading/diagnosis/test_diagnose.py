"""What went wrong, from generated traces of each thing; 1,000 a class are in docs/proof/settling.md."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal

import numpy as np
import pytest
from tests.bench.reading.settling.bench_trouble import MADE
from tests.bench.reading.settling.generator import Made

from isohume.bench.reading.diagnosis.diagnose import TraceJudged, judge_trace
from isohume.bench.reading.diagnosis.finding import DIAGNOSES
from isohume.bench.reading.settling.criterion import read_criterion, settled_at
from isohume.bench.reading.settling.trace import Trace, trace_of

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


def at_rest(warmer: np.ndarray | float, end: float = 0.65, decimals: int = 4) -> TraceJudged:
    """A quick sample that came to rest, read to the end at so many kelvin above the block."""
    rng = np.random.default_rng(6)
    readings = np.round(end - 0.2 * np.exp(-T / 30.0) + rng.normal(size=T.size) * 5e-5, decimals)
    block = np.full(T.size, 25.0)
    return judge_trace(trace_of(T, readings, np.round(block + warmer, 1), block))


@pytest.mark.parametrize(
    ("warmer", "said", "off"),
    [
        # the trade's F4: the reading is off by about 6 % of a_w a kelvin; 0.902 shown at +1 K is 0.85, 0.052 too high
        (1.0, "warm sample", "about 0.052 too high"),
        (-1.0, "cold sample", "too low"),
        (4.0, "warm sample", "too high"),
        (-4.0, "cold sample", "says nothing of the sample"),  # 0.902 would be above 1
        (1.0 + 3.0 * np.exp(-T / 150.0), "warm sample", "too high"),  # it comes nearer, and does not come there
    ],
)
def test_a_difference_of_temperature_that_stays_is_not_settled(warmer: np.ndarray | float, said: str, off: str) -> None:
    found = at_rest(warmer, 0.902)
    assert (found.settled, found.value, found.finding.diagnosis) == (False, None, said)
    assert off in found.finding.evidence[1]
    assert found.finding.action.startswith("Let the sample come to the block's temperature")


@pytest.mark.parametrize(("warmer", "said"), [(-30.0, "cold sample"), (-20.0, "cold sample"), (70.0, "warm sample")])
def test_a_frozen_or_a_boiling_sample_is_said_without_a_figure_that_means_nothing(warmer: float, said: str) -> None:
    """At -5 degC there is ice; 20 K below the block would make 0.65 a water activity above 1."""
    found = at_rest(warmer)
    assert (found.settled, found.finding.diagnosis) == (False, said)
    if warmer < 0.0:
        assert "says nothing of the sample" in found.finding.evidence[1]


def test_a_difference_within_the_limit_is_settled_and_the_limit_is_the_method_s() -> None:
    for near in (0.4, -0.4, 0.5, -0.5):  # at the limit is within it, as where the cup is put in
        assert at_rest(near).settled
    assert at_rest(0.6).finding.diagnosis == "warm sample"
    block = np.full(T.size, 25.0)
    trace = trace_of(T, np.round(0.65 - 0.2 * np.exp(-T / 30.0), 4), block + 1.5, block)
    assert judge_trace(trace).finding.diagnosis == "warm sample"
    assert judge_trace(trace, mismatch_limit_k=2.0).settled
    goes_on = judge_trace(trace.until(40.0), ended=False)
    assert goes_on.finding.diagnosis == "still moving"  # it may still come to the block's temperature


def slow_in_hundredths() -> Trace:
    """A slow sample, five minutes to come down to a third, read with two decimals; it ends at 0.68."""
    t = np.arange(0.0, 600.0, 5.0)
    return trace_of(t, [Decimal(f"{one:.2f}") for one in 0.68 - 0.25 * np.exp(-t / 300.0)])


def test_readings_coarser_than_the_criterion_are_not_settled_however_long_they_are_alike() -> None:
    for resolution in (None, 0.01, 0.0001):
        found = judge_trace(slow_in_hundredths(), resolution=resolution)
        assert (found.settled, found.finding.diagnosis) == (False, "stopped early")
        assert found.finding.evidence[0] == (
            "The readings are coarser than the criterion (change of at most 0.0005 in 60 s): their last digit is 0.01."
        )
        assert "more digits" in found.finding.action
        assert "a criterion that it can show" in found.finding.action
    quick = judge_trace(trace_of(T, [Decimal(f"{one:.3f}") for one in 0.65 - 0.2 * np.exp(-T / 30.0)]))
    assert quick.finding.diagnosis == "stopped early"
    goes_on = judge_trace(slow_in_hundredths().until(60.0), ended=False)
    assert goes_on.finding.diagnosis == "still moving"
    assert "it never settles by this criterion" in goes_on.finding.evidence[1]


def test_what_the_forecast_leaves_wide_open_is_not_settled() -> None:
    """The criterion is met by digits that can show it, and 0.68 is still a long way off."""
    trace = slow_in_hundredths().until(360.0)
    criterion = read_criterion("0.01/60")
    assert settled_at(trace, criterion) == trace.n - 2
    found = judge_trace(trace, criterion)
    assert not found.settled
    assert found.forecast is not None
    assert found.forecast.half_width > 0.04
    assert "too much for a reading that has settled" in found.finding.evidence[0]
    assert judge_trace(trace, criterion, ended=False).finding.action == "Wait."


def test_nothing_is_not_a_water_activity() -> None:
    found = judge_trace(trace_of(T, [Decimal("0.0000")] * T.size))
    assert (found.settled, found.finding.diagnosis) == (False, "unfamiliar")
    assert "0.0000" in found.finding.evidence[0]


def test_a_curve_that_would_end_below_nothing_is_unfamiliar_and_has_no_forecast() -> None:
    t = 5.0 * np.arange(55.0)
    found = judge_trace(trace_of(t, np.round(0.05 - 0.0008 * np.arange(55.0), 4)))
    assert (found.forecast, found.finding.diagnosis) == (None, "unfamiliar")
    assert "no water activity lies beyond 0 to 1" in found.no_forecast


def test_temperature_of_the_sample_tells_a_cold_one_from_a_slow_one() -> None:
    cold = MADE["cold sample"](np.random.default_rng(2))
    assert judged(cold).finding.diagnosis == "cold sample"
    cold.sample_c = cold.block_c = None
    assert judged(cold).finding.diagnosis != "cold sample"

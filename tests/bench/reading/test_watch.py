"""A watched run says what the whole trace says: the criterion at the same reading, the same forecast and diagnosis."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from tests.bench.reading.settling import generator

from isohume.bench.reading.diagnosis import judge_trace
from isohume.bench.reading.settling import DEFAULT_CRITERION, Criterion, Sample, Trace, settled_at, trace_of_samples
from isohume.bench.reading.settling.criterion_so_far import CriterionSoFar
from isohume.bench.reading.watch import Watch

FAMILIES = (generator.one, generator.two, generator.stretched)
CRITERIA = (
    DEFAULT_CRITERION,
    Criterion(Decimal("0.001"), Decimal("50")),
    Criterion(Decimal("0.0002"), Decimal("7.5")),
    Criterion(Decimal("0.0001"), Decimal("20")),
)


def made(seed: int) -> list[Sample]:
    """A generated run with its noise, now and then with uneven times."""
    rng = np.random.default_rng(seed)
    t = generator.times(rng, float(rng.uniform(300, 900)))
    if seed % 3 == 0:
        t = np.cumsum(rng.uniform(0.2, 4.0, t.size))
    ideal = 0.7 - 0.3 * FAMILIES[seed % 3](rng, t)
    read = generator.as_read(rng, t, ideal)
    warm = 1.5 * np.exp(-t / 150.0) if seed % 2 else 0.0 * t
    rows = zip(t, read, warm, strict=True)
    block = Decimal("25.0")
    return [
        Sample(Decimal(f"{s:.2f}"), Decimal(f"{y:.4f}"), block + Decimal(f"{k:.2f}"), block)
        for n, (s, y, k) in enumerate(rows)
        if n == 0 or f"{s:.2f}" != f"{t[n - 1]:.2f}"
    ]


def first_to_meet(trace: Trace, criterion: Criterion) -> int | None:
    """The slow twin, straight from the method's words: looked for anew in the whole at every reading."""
    times = [Decimal(repr(float(t))) for t in trace.elapsed_s]
    decimals = max(len(f"{one:f}".partition(".")[2]) for one in trace.typed)
    if 10**decimals * criterion.change < 1:
        return None  # the last digit is more than what the method lets it change by
    for now, time in enumerate(times):
        a_window_ago = [i for i in range(now) if times[i] <= time - criterion.window_s]
        half_a_window_ago = [i for i in range(now) if times[i] <= time - criterion.window_s / 2]
        if not a_window_ago or a_window_ago[-1] == half_a_window_ago[-1]:
            continue
        three = [trace.typed[i] for i in (a_window_ago[-1], half_a_window_ago[-1], now)]
        if max(three) - min(three) <= criterion.change:
            return now
    return None


@pytest.mark.parametrize("criterion", CRITERIA, ids=lambda c: c.words)
def test_the_criterion_is_met_at_the_same_reading(criterion: Criterion) -> None:
    met = 0
    for seed in range(30):
        trace = trace_of_samples(made(seed))
        so_far = CriterionSoFar(criterion)
        for time, typed in zip(trace.elapsed_s, trace.typed, strict=True):
            so_far.take(time, typed)
        assert so_far.found == first_to_meet(trace, criterion) == settled_at(trace, criterion), seed
        met += so_far.found is not None
    assert met > 5


@pytest.mark.parametrize("decimals", [2, 3])
def test_coarse_readings_never_settle_by_a_finer_criterion_and_the_page_has_the_words(decimals: int) -> None:
    """The same at the bench as of the whole: met by a criterion that the last digit can show, and by no other."""
    coarse = [one._replace(a_w=round(one.a_w, decimals), sample_temperature_c=Decimal("25.0")) for one in made(3)]
    for criterion in (DEFAULT_CRITERION, Criterion(Decimal(1).scaleb(-decimals), Decimal(60))):
        shown, watch = criterion is not DEFAULT_CRITERION, Watch(criterion)
        watch.take(coarse)
        watch.look()
        whole = judge_trace(trace_of_samples(coarse), criterion, ended=False)
        assert watch.judged is not None
        assert (watch.met_at_s is not None) == (settled_at(trace_of_samples(coarse), criterion) is not None) == shown
        assert watch.judged.finding == whole.finding
        assert watch.settled == whole.settled == shown
    watch = Watch(DEFAULT_CRITERION)
    watch.take(coarse)
    watch.look()
    assert watch.judged is not None
    assert watch.judged.finding.evidence[0].startswith("The readings are coarser than the criterion")
    assert (watch.value, watch.seconds_left) == (None, None)


def test_a_sample_that_stays_warm_is_watched_by_the_method_s_limit() -> None:
    warm = [one._replace(sample_temperature_c=Decimal("26.5")) for one in made(3)]
    said = []
    for limit in ({}, {"mismatch_limit_k": 2.0}):
        watch = Watch(DEFAULT_CRITERION, **limit)
        watch.take(warm)
        watch.look(ended=True)
        assert watch.judged is not None
        said.append((watch.judged.finding.diagnosis, watch.settled))
    assert said == [("warm sample", False), ("settled", True)]


def test_it_is_met_when_its_reading_comes_and_not_later() -> None:
    trace = trace_of_samples(made(1))
    found = settled_at(trace, DEFAULT_CRITERION)
    assert found is not None
    so_far = CriterionSoFar(DEFAULT_CRITERION)
    for place in range(found + 1):
        assert so_far.found is None
        so_far.take(float(trace.elapsed_s[place]), trace.typed[place])
    assert so_far.found == found


@pytest.mark.parametrize("seed", range(8))
def test_a_watched_run_is_judged_as_the_whole_trace(seed: int) -> None:
    """In pieces of any size; asked at its end, as the command line asks."""
    read = made(seed)
    rng, watch, place = np.random.default_rng(seed + 100), Watch(DEFAULT_CRITERION), 0
    while place < len(read):
        size = int(rng.integers(1, 30))
        watch.take(read[place : place + size])
        watch.look()
        place += size
    watch.look(ended=True)
    whole = judge_trace(trace_of_samples(read), DEFAULT_CRITERION)
    assert watch.judged is not None
    assert watch.judged.finding.diagnosis == whole.finding.diagnosis
    assert (watch.settled, watch.judged.n) == (whole.settled, whole.n)
    assert watch.forecast is not None
    assert whole.forecast is not None
    assert watch.forecast.value == pytest.approx(whole.forecast.value, abs=1e-9)
    assert watch.forecast.high == pytest.approx(whole.forecast.high, abs=1e-9)


def test_a_coarser_first_reading_does_not_widen_the_forecast_for_good() -> None:
    """An instrument that leaves trailing zeros away reads 0.5 and then 0.5003: four decimals."""
    read = made(1)
    coarse = [read[0]._replace(a_w=Decimal("0.4")), *read[1:]]
    exact = [read[0]._replace(a_w=Decimal("0.4000")), *read[1:]]
    forecasts = []
    for one in (coarse, exact):
        watch = Watch(DEFAULT_CRITERION)
        for sample in one:
            watch.take([sample])
            watch.look()
        forecasts.append(watch.forecast)
    assert forecasts[0] == forecasts[1]


def test_readings_whose_time_does_not_grow_are_left_out() -> None:
    watch, read = Watch(DEFAULT_CRITERION), made(1)
    watch.take([*read[:20], read[10], *read[19:30]])
    watch.look()
    assert watch.points() == [(float(one.elapsed_s), float(one.a_w)) for one in read[:30]]


def test_something_is_wrong_when_it_was_said_twice() -> None:
    """The first seconds of a run look like many things."""
    watch = Watch(DEFAULT_CRITERION)
    said, wrong = [], []
    for sample in _overshooting():
        watch.take([sample])
        watch.look()
        assert watch.judged is not None
        said.append(watch.judged.finding.diagnosis)
        wrong.append(watch.wrong)
    first = said.index("warm sample")
    assert not wrong[first]
    assert wrong[-1]
    assert wrong.index(True) > first


def _overshooting() -> list[Sample]:
    """A sample 3 K warmer than the block, which cools in some minutes."""
    found = []
    for t in range(0, 400, 2):
        excess = 3.0 * np.exp(-t / 120.0)
        a_w = 0.70 * (1.0 + 0.06 * excess) - 0.3 * np.exp(-t / 15.0)
        block = Decimal("25.0")
        found.append(Sample(Decimal(t), Decimal(f"{a_w:.4f}"), block + Decimal(f"{excess:.2f}"), block))
    return found

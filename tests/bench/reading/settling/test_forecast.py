"""The forecast is honest on what it was built for and on what it was not; the large study is docs/proof/settling.md."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.bench.reading.settling.generator import FAMILIES, UNKNOWN, Made, coming_to_rest

from isohume.bench.reading.settling.forecast import Forecaster, forecasts
from isohume.bench.reading.settling.trace import trace_of
from isohume.foundation.quantity.errors import InputError

ENOUGH = 0.005


def first_narrow(made: Made) -> tuple[float, float, float]:
    """Where the half width first falls below 0.005, or at the end: value, low, high."""
    rows = Forecaster().take(made.elapsed_s, made.a_w)
    narrow = np.flatnonzero((rows[:, 2] - rows[:, 1]) < 2 * ENOUGH)
    return tuple(rows[narrow[0] if narrow.size else -1])


LEAST = {**dict.fromkeys(FAMILIES, 0.84), **dict.fromkeys(UNKNOWN, 0.76)}


@pytest.mark.parametrize(("family", "least"), LEAST.items())
def test_when_it_says_it_is_sure_it_is(family: str, least: float) -> None:
    # of 40 traces; the least is three binomial standard deviations below 0.95, and below 0.90 for what it was not built
    # for
    rng = np.random.default_rng(20261128)
    made = [coming_to_rest(rng, family) for _ in range(40)]
    found = [(first_narrow(one), one.truth) for one in made]
    assert np.mean([low <= truth <= high for (_, low, high), truth in found]) >= least
    assert np.mean([abs(value - truth) <= ENOUGH for (value, _, _), truth in found]) >= least


def test_there_is_none_before_the_sixth_reading_and_one_from_it_on() -> None:
    trace = trace_of(np.arange(8.0), 0.6 - 0.1 * np.exp(-np.arange(8.0) / 3))
    assert [found is None for found in forecasts(trace)] == [True] * 5 + [False] * 3


def test_one_at_a_time_is_the_same_as_all_at_once() -> None:
    made = coming_to_rest(np.random.default_rng(3), "two", 400.0)
    one = Forecaster()
    last = [one.update(t, a) for t, a in zip(made.elapsed_s, made.a_w, strict=True)][-1]
    assert last == forecasts(trace_of(made.elapsed_s, made.a_w))[-1]
    assert one.n == made.elapsed_s.size
    some = Forecaster()
    some.take(made.elapsed_s[:50], made.a_w[:50])
    assert some.take(np.empty(0), np.empty(0)).shape == (0, 3)  # nothing new changes nothing
    rest = [some.update(t, a) for t, a in zip(made.elapsed_s[50:], made.a_w[50:], strict=True)]
    assert rest[-1] == last
    with pytest.raises(InputError, match="elapsed_s"):
        some.update(float(made.elapsed_s[-1]), 0.5)


def test_never_narrower_than_resolution_and_repeatability() -> None:
    t = np.arange(900.0)
    still = trace_of(t, np.full(900, 0.5))
    for resolution, repeatability in ((1e-3, 0.0), (1e-4, 0.002)):
        found = forecasts(still, resolution, repeatability)[-1]
        assert found is not None
        assert found.half_width >= 1.959 * math.hypot(repeatability, resolution / math.sqrt(12))


@given(
    end=st.floats(0.05, 0.99),
    way=st.floats(-0.4, 0.4),
    tau=st.floats(5, 300),
    every=st.floats(0.5, 20),
    n=st.integers(6, 200),
)
def test_an_interval_is_finite_and_in_order_whatever_comes(
    end: float, way: float, tau: float, every: float, n: int
) -> None:
    t = every * np.arange(n)
    readings = np.round(end + way * np.exp(-t / tau), 4)
    computed = Forecaster().take(t, readings)[5:, 0]
    for found, value in zip(forecasts(trace_of(t, readings))[5:], computed, strict=True):
        if found is None:  # never but where it would lie where no water activity does
            assert not -0.00005 <= value <= 1.00005
            continue
        assert 0.0 <= found.low <= found.value <= found.high <= 1.0
        assert found.value == pytest.approx(value, abs=0.00005)


@pytest.mark.parametrize(
    ("readings", "end"),
    [
        (0.9 + 0.0008 * np.arange(60.0), "1.0396"),  # straight up
        (np.maximum(0.05 - 0.0008 * np.arange(55.0), 0.0), "-0.0433"),  # straight down, to nothing
    ],
)
def test_there_is_none_where_the_curve_would_end_beyond_what_a_water_activity_can_be(
    readings: np.ndarray, end: str
) -> None:
    one = Forecaster()
    one.take(5.0 * np.arange(readings.size), readings)
    assert one.forecast is None
    assert one.why_none == f"none: the curve would end at {end}, and no water activity lies beyond 0 to 1"


def test_an_interval_ends_where_water_activities_end_and_says_so() -> None:
    """0.984 by an exponential of a minute, stopped after one: it may end at pure water, and not above."""
    t = np.arange(0.0, 60.0, 5.0)
    one = Forecaster()
    computed = one.take(t, np.round(0.984 - 0.2 * np.exp(-t / 60.0), 4))[-1]
    assert computed[2] > 1.0
    found = one.forecast
    assert found is not None
    assert (found.high, found.cut, one.why_none) == (1.0, "1", "")
    assert found.low == pytest.approx(computed[1], abs=1e-6)
    assert found.half_width == max(found.value - found.low, found.high - found.value)
    inside = forecasts(trace_of(t, np.round(0.60 - 0.2 * np.exp(-t / 60.0), 4)))[-1]
    assert inside is not None
    assert inside.cut == ""
    nothing = forecasts(trace_of(np.arange(100.0), np.zeros(100)))[-1]
    assert nothing is not None
    assert (nothing.value, nothing.low, nothing.cut) == (0.0, 0.0, "0")


def test_many_runs_at_once_do_not_disturb_each_other() -> None:
    rng = np.random.default_rng(8)
    made = [coming_to_rest(rng, "two", 120.0) for _ in range(50)]
    live = [Forecaster() for _ in made]
    for n in range(24):
        for one, run in zip(live, made, strict=True):
            one.update(run.elapsed_s[n], run.a_w[n])
    for one, run in zip(live, made, strict=True):
        assert one.forecast == forecasts(trace_of(run.elapsed_s[:24], run.a_w[:24]))[-1]


def test_when_it_will_settle() -> None:
    t = np.arange(120.0)
    quick = Forecaster()
    quick.take(t, 0.6 - 0.2 * np.exp(-t / 30.0))
    # 0.2 exp(-t/30) (exp(2) - 1) = 0.0005 at t = 30 ln(0.2 (e^2 - 1)/0.0005) = 235 s
    assert quick.settles_after(0.0005, 60.0) == pytest.approx(235, rel=0.05)
    assert Forecaster().settles_after(0.0005, 60.0) is None
    assert Forecaster().why_none == "none before the sixth reading"


def test_what_is_refused() -> None:
    with pytest.raises(InputError, match="resolution"):
        Forecaster(resolution=-1.0)
    forecaster = Forecaster()
    forecaster.update(1.0, 0.5)
    with pytest.raises(InputError, match="elapsed_s"):
        forecaster.update(1.0, 0.5)

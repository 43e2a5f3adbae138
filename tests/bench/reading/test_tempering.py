"""Tempering: Newton's law against its own differential equation and against synthetic cups of known time constant."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from isohume.bench.reading import judge_warm_sample, ready_at, tempering_limit_k
from isohume.foundation.quantity import InputError, RangeError

SIX = datetime(2026, 11, 24, 6, 0, tzinfo=UTC)


def after(minutes: float) -> datetime:
    """A time so many minutes after six."""
    return SIX + timedelta(minutes=minutes)


def cup(d0: float, tau: float, *minutes: float) -> list[tuple[datetime, float]]:
    """Readings of a cup that starts d0 from a 25 degC block."""
    return [(after(t), 25 + d0 * math.exp(-t / tau)) for t in minutes]


@pytest.mark.parametrize("d0", [4.0, -4.0])
def test_one_reading_of_a_warm_or_cold_cup_takes_the_stated_default(d0: float) -> None:
    """4 K down to 0.5 K are three halvings: 20 min times ln 8 = 41.6 min."""
    found = ready_at([(SIX, 25 + d0)], 25, 0.5)
    assert found.minutes_left == pytest.approx(20 * math.log(8))
    assert found.ready_at == after(found.minutes_left or 0)
    assert not found.ready
    assert found.words.startswith("ready in about 42 min")
    assert "common practice, no source" in found.how.inputs["time_constant"]


def test_the_forecast_solves_the_equation_of_cooling() -> None:
    """The differential equation dT/dt = -(T - T_block)/tau, integrated to the limit by scipy."""

    def reached(_: float, y: list[float]) -> float:
        return y[0] - 0.3

    reached.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(lambda _, y: [-y[0] / 33], (0, 600), [11.0], events=reached, rtol=1e-9, atol=1e-12)
    found = ready_at([(SIX, 36.0)], 25, 0.3, time_constant_min=33)
    assert found.minutes_left == pytest.approx(float(solved.t_events[0][0]), rel=1e-6)


@given(st.floats(-15, 15).filter(lambda d: abs(d) > 2), st.floats(5, 90))
@settings(derandomize=True)
def test_the_time_constant_is_found_from_two_or_more_readings(d0: float, tau: float) -> None:
    for times in ((0.0, 6.0), (0.0, 3.0, 5.0, 9.0)):
        found = ready_at(cup(d0, tau, *times), 25, 0.1)
        assert found.how.inputs["time_constant_min"] == pytest.approx(tau, rel=1e-6)
        if found.minutes_left:
            assert times[-1] + found.minutes_left == pytest.approx(tau * math.log(abs(d0) / 0.1), rel=1e-6)


def test_a_late_reading_in_the_thermometers_noise_hardly_moves_the_time_constant() -> None:
    """The last reading is off by 0.1 K where 0.15 K are left: a line through plain logarithms is led astray."""
    readings = cup(8, 20, 0, 5, 10, 80)
    readings[-1] = (readings[-1][0], readings[-1][1] + 0.1)
    plain = -1 / float(np.polyfit([0, 5, 10, 80], [math.log(t - 25) for _, t in readings], 1)[0])
    found = ready_at(readings, 25, 0.05).how.inputs["time_constant_min"]
    assert plain > 22
    assert found == pytest.approx(20, abs=0.5)


def test_readings_may_come_in_any_order() -> None:
    readings = cup(8, 20, 0, 5, 10)
    assert ready_at(readings[::-1], 25, 0.5) == ready_at(readings, 25, 0.5)


def test_minutes_are_counted_from_now_and_a_passed_forecast_asks_for_a_reading() -> None:
    at_ten = ready_at([(SIX, 29)], 25, 0.5, now=after(10))
    assert at_ten.minutes_left == pytest.approx(20 * math.log(8) - 10)
    later = ready_at([(SIX, 29)], 25, 0.5, now=after(60))
    assert later.minutes_left == 0
    assert not later.ready
    assert later.words.startswith("should be ready")
    assert "measure it again" in later.words


@pytest.mark.parametrize(("temperature", "ready"), [(25.5, True), (24.5, True), (25.51, False)])
def test_only_a_reading_within_the_limit_is_ready(temperature: float, ready: bool) -> None:
    assert ready_at([(SIX, temperature)], 25, 0.5).ready is ready


def test_a_cup_that_does_not_come_closer_has_no_forecast() -> None:
    found = ready_at([(SIX, 28.0), (after(10), 28.2)], 25, 0.5)
    assert (found.ready_at, found.minutes_left) == (None, None)
    assert found.words.startswith("not tempering")
    assert ready_at([(SIX, 28.0), (after(10), 28.0)], 25, 0.5).ready_at is None


def test_a_cup_that_crossed_the_block_is_forecast_from_the_side_it_is_on() -> None:
    found = ready_at([(SIX, 22.0), (after(10), 26.0)], 25, 0.5)
    assert found.minutes_left == pytest.approx(20 * math.log(2))


def test_no_forecast_where_no_waiting_would_do() -> None:
    assert ready_at([(SIX, 28.0)], 25, 0).words.startswith("no forecast")
    assert ready_at([(SIX, 28.0), (after(10), 27.999)], 25, 0.5).ready_at is None
    assert ready_at([(SIX, 25.0)], 25, 0).ready


def test_the_limit_is_the_smaller_of_condensation_and_the_methods() -> None:
    """About 0.9 K at 0.95; at 0.50 nothing condenses below 12 K and the method's limit counts (common practice)."""
    assert tempering_limit_k(0.95, 25, True) == pytest.approx(0.9, abs=0.05)
    assert tempering_limit_k(0.95, 25, False) == 0.5
    assert tempering_limit_k(0.50, 25, True) == 2.0
    assert tempering_limit_k(0.50, 25, True, method_limit_k=15) == pytest.approx(12, abs=0.5)
    assert tempering_limit_k(0.95, 25, True, colder=True) == 2.0


@given(st.floats(0.05, 0.99), st.booleans())
@settings(derandomize=True, max_examples=40)
def test_a_cup_at_its_limit_passes_the_guard_and_beyond_it_does_not(a_w: float, surface: bool) -> None:
    limit = tempering_limit_k(a_w, 25, surface)
    assert judge_warm_sample(25 + limit - 1e-6, 25, a_w, surface).answer == "go"
    assert judge_warm_sample(25 + limit + 1e-3, 25, a_w, surface).answer != "go"


@pytest.mark.parametrize(
    ("limit", "tau", "field"),
    [
        (-0.1, None, "limit_k"),
        (math.nan, None, "limit_k"),
        (0.5, 0.0, "time_constant_min"),
        (0.5, math.inf, "time_constant_min"),
    ],
)
def test_limits_that_make_no_sense_are_refused(limit: float, tau: float | None, field: str) -> None:
    with pytest.raises(InputError) as refused:
        ready_at([(SIX, 29)], 25, limit, tau)
    assert refused.value.field == field


def test_no_reading_and_a_temperature_of_another_unit_are_refused() -> None:
    with pytest.raises(InputError, match="samples"):
        ready_at([], 25, 0.5)
    with pytest.raises(RangeError, match="temperature_c"):
        ready_at([(SIX, 300.0)], 25, 0.5)

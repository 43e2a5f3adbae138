"""Probability of conformity, guard bands and acceptance limits against JCGM 106, ILAC-G8 examples and scipy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.metrology import (
    acceptance_limit_relative,
    acceptance_limits,
    guard_band,
    guard_factor_for,
    probability_of_conformity,
)
from isohume.foundation.quantity import InputError, RangeError


@pytest.mark.parametrize(
    ("value", "expected"),
    [(0.840, 0.9938), (0.842, 0.9772), (0.8421, 0.9759), (0.846, 0.8413), (0.852, 0.3085), (0.859, 0.0122)],
)
def test_worked_values_against_a_maximum(value, expected):
    # worked values of the decision, u 0.004 against a maximum of 0.85, four decimals
    assert probability_of_conformity(value, 0.004, upper=0.85) == pytest.approx(expected, abs=0.00005)


def test_breakdown_voltage_of_the_source():
    # JCGM 106:2012: estimate -5.47 V, u 0.05 V, upper limit -5.40 V, p 0.92
    assert probability_of_conformity(-5.47, 0.05, upper=-5.40) == pytest.approx(0.92, abs=0.005)


def test_on_the_limit_it_is_exactly_one_half():
    assert probability_of_conformity(0.85, 0.003, upper=0.85) == 0.5
    assert probability_of_conformity(0.85, 0.003, lower=0.85) == 0.5


def _integrated(value, u, lower, upper):
    """The plain twin: the density summed over the zone; all terms are positive, so nothing cancels."""
    edges = np.linspace(max((lower - value) / u, -45.0), min((upper - value) / u, 45.0), 301)
    nodes, weights = np.polynomial.legendre.leggauss(20)
    middle, half = 0.5 * (edges[1:] + edges[:-1]), 0.5 * (edges[1:] - edges[:-1])
    z = middle[:, None] + half[:, None] * nodes
    return float(np.sum(half[:, None] * weights * np.exp(-0.5 * z * z)) / np.sqrt(2.0 * np.pi))


@settings(derandomize=True, max_examples=200)
@given(
    st.floats(min_value=-30.0, max_value=30.0),
    st.floats(min_value=-9.0, max_value=1.5),
    st.sampled_from([1.0, 0.5, 0.25]),
)
def test_two_sided_keeps_its_digits_far_out_and_in_narrow_zones(lower, log_width, u):
    lower *= u
    upper = lower + u * 10.0**log_width
    computed = probability_of_conformity(0.0, u, lower, upper)
    assert computed == pytest.approx(_integrated(0.0, u, lower, upper), rel=1e-10)


def test_arrays_give_what_single_values_give():
    values = np.array([[0.55, 0.60], [0.65, 0.72]])
    both = probability_of_conformity(values, 0.01, 0.58, 0.70)
    one_by_one = [[probability_of_conformity(float(v), 0.01, 0.58, 0.70) for v in row] for row in values]
    assert both == pytest.approx(np.array(one_by_one), rel=1e-14)
    upper_only = probability_of_conformity(values, np.full((2, 2), 0.01), upper=0.70)
    assert upper_only[1, 1] == pytest.approx(probability_of_conformity(0.72, 0.01, upper=0.70), rel=1e-12)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((0.84, 0.0, None, 0.85), "u"),
        ((0.84, -0.001, None, 0.85), "u"),
        ((0.84, float("nan"), None, 0.85), "u"),
        ((float("nan"), 0.004, None, 0.85), "value"),
        ((0.84, 0.004, None, None), "limit"),
        ((0.84, 0.004, 0.9, 0.85), "lower"),
        ((0.84, 0.004, None, float("inf")), "upper"),
        ((np.array([0.84, np.nan]), 0.004, None, 0.85), "value"),
        ((np.array([0.84, 0.85]), 0.0, None, 0.85), "u"),
    ],
)
def test_refuses_and_names_the_field(arguments, field):
    with pytest.raises(InputError) as refused:
        probability_of_conformity(*arguments)
    assert refused.value.field == field


def test_guard_band_and_acceptance_limits():
    assert guard_band(0.004) == pytest.approx(0.008)
    assert guard_band(0.004, 0.0) == 0.0
    assert acceptance_limits(None, 0.85, 0.008) == (None, pytest.approx(0.842))
    assert acceptance_limits(0.60, None, 0.008) == (pytest.approx(0.608), None)
    with pytest.raises(InputError, match="acceptance zone"):
        acceptance_limits(0.60, 0.61, 0.006)
    with pytest.raises(InputError, match="guard"):
        acceptance_limits(0.60, 0.61, -0.006)
    with pytest.raises(InputError, match="u"):
        guard_band(0.0)
    with pytest.raises(InputError, match="factor"):
        guard_band(0.004, -1.0)


@pytest.mark.parametrize(("probability", "factor"), [(0.95, 1.6449), (0.975, 1.9600), (0.97725, 2.0000), (0.5, 0.0)])
def test_guard_factor_for_a_probability(probability, factor):
    # JCGM 106, clause 8, and a normal table
    assert guard_factor_for(probability) == pytest.approx(factor, abs=0.00005)


@settings(derandomize=True)
@given(st.floats(min_value=0.5, max_value=0.9999), st.floats(min_value=1e-4, max_value=0.05))
def test_at_the_acceptance_limit_the_probability_is_the_wanted_one(probability, u):
    w = guard_band(u, guard_factor_for(probability))
    _, acceptance = acceptance_limits(None, 0.85, w)
    assert probability_of_conformity(acceptance, u, upper=0.85) == pytest.approx(probability, abs=1e-9)


def test_relative_uncertainty_moves_with_the_value():
    # JCGM 106:2012, road speed: limit 100 km/h, relative u 0.02, 99.9 % confidence, acceptance limit 107 km/h
    limit = acceptance_limit_relative(100.0, 0.02, 0.999, "above")
    assert limit == pytest.approx(107.0, abs=0.5)
    assert probability_of_conformity(limit, 0.02 * limit, lower=100.0) == pytest.approx(0.999, abs=1e-12)
    below = acceptance_limit_relative(100.0, 0.02, 0.999)
    assert probability_of_conformity(below, 0.02 * below, upper=100.0) == pytest.approx(0.999, abs=1e-12)


@pytest.mark.parametrize(
    "arguments",
    [(0.0, 0.02, 0.95), (100.0, 0.0, 0.95), (100.0, 0.7, 0.99, "above"), (100.0, 0.02, 0.95, "beside")],
)
def test_relative_limit_refuses(arguments):
    with pytest.raises(InputError):
        acceptance_limit_relative(*arguments)


@pytest.mark.parametrize("probability", [0.49, 1.0])
def test_guard_factor_refuses_what_would_widen_the_limit(probability):
    with pytest.raises(RangeError):
        guard_factor_for(probability)

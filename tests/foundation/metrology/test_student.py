"""Student's t against scipy and the printed table of the GUM."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from isohume.foundation.metrology import normal_quantile, student_cdf, student_quantile
from isohume.foundation.quantity import InputError, RangeError


@pytest.mark.parametrize(
    ("dof", "t"),
    [(1, 12.71), (2, 4.30), (5, 2.57), (10, 2.23), (16, 2.12), (18, 2.10), (20, 2.09), (50, 2.01), (math.inf, 1.960)],
)
def test_quantile_gives_the_table_of_the_gum(dof, t):
    # JCGM 100:2008, table G.2, p = 95 %, two decimals (from memory, agrees with scipy)
    assert student_quantile(0.975, dof) == pytest.approx(t, abs=0.005)


@settings(derandomize=True, max_examples=200)
@given(
    st.floats(min_value=1.0, max_value=2e6),
    st.floats(min_value=-18.0, max_value=-0.302),
)
def test_quantile_agrees_with_scipy(dof, exponent):
    tail = 10.0**exponent
    assert student_quantile(tail, dof) == pytest.approx(stats.t.ppf(tail, dof), rel=1e-10)


@settings(derandomize=True, max_examples=200)
@given(st.floats(min_value=1.0, max_value=2e6), st.floats(min_value=1e-5, max_value=40.0), st.sampled_from([-1, 1]))
def test_distribution_function_agrees_with_scipy(dof, size, sign):
    t = sign * size
    assert student_cdf(t, dof) == pytest.approx(stats.t.cdf(t, dof), rel=1e-9, abs=1e-40)


@pytest.mark.parametrize(
    ("dof", "t", "tail"),
    [(100001.0, 8.0, 6.2869592749333791e-16), (5e5, 8.0, 6.2341092425339864e-16), (2e6, 13.0, 6.1392998733045468e-39)],
)
def test_far_out_and_nearly_normal(dof, t, tail):
    # the integral of the density to 60 digits by mpmath 1.4.1
    assert student_cdf(-t, dof) == pytest.approx(tail, rel=1e-12, abs=0.0)


@pytest.mark.parametrize("dof", [1, 4, 100])
def test_near_zero_the_curve_is_its_tangent(dof):
    # scipy 1.17 loses t below 1e-8 here, so the density is the oracle
    for t in (1e-6, 3e-9, -2e-12):
        assert student_cdf(t, dof) == pytest.approx(0.5 + t * stats.t.pdf(0.0, dof), abs=2e-16)


def test_infinite_dof_is_the_normal_distribution():
    assert student_quantile(0.975, math.inf) == pytest.approx(normal_quantile(0.975), abs=1e-14)


@pytest.mark.parametrize(("probability", "dof"), [(0.0, 5), (1.0, 5), (0.9, 0.5), (0.9, float("nan"))])
def test_refuses_what_has_no_quantile(probability, dof):
    with pytest.raises(RangeError):
        student_quantile(probability, dof)


def test_refuses_a_t_that_is_no_number():
    with pytest.raises(InputError):
        student_cdf(float("nan"), 5)

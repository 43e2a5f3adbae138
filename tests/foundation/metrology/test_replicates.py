"""The replicate route of ISO 5725-6 and the limits that follow from s_r and s_R."""

import math
from decimal import Decimal as D  # noqa: N817

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from isohume.foundation.metrology import (
    critical_difference_two_labs,
    critical_range_factor,
    repeatability_limit,
    replicate_route,
    s_r_from_duplicates,
    u_of_route,
)
from isohume.foundation.quantity import InputError, RangeError


@pytest.mark.parametrize("n", range(2, 11))
def test_factors_are_the_95_percent_points_of_the_range(n):
    # ISO 5725-6 prints them to one decimal; the range of n normal values is the studentised range, dof infinite
    exact = float(stats.studentized_range.ppf(0.95, n, np.inf))
    assert float(critical_range_factor(n)) == pytest.approx(exact, abs=0.05)


@pytest.mark.parametrize("n", [0, 1, 11])
def test_factors_end_where_the_table_ends(n):
    with pytest.raises(RangeError, match="2 to 10"):
        critical_range_factor(n)


ROUTES = [
    # values, s_r, route, value, more needed: f(2) = 2.8, f(3) = 3.3, f(4) = 3.6, f(5) = 3.9 (ISO 5725-6)
    ("0.640 0.652", "0.002", None, None, 2),
    ("0.640 0.6456", "0.002", "mean of 2", "0.6428", 0),  # a range equal to the allowed one is inside
    ("0.640 0.64561", "0.002", None, None, 2),
    ("0.640 0.641 0.6467", "0.002", None, None, 1),
    ("0.640 0.641 0.6466", "0.002", "mean of 3", "0.64253333", 0),
    ("0.640 0.652 0.6445 0.645", "0.004", "mean of 4", "0.645375", 0),
    ("0.640 0.652 0.6445 0.645", "0.002", "median of 4", "0.64475", 0),
    ("0.640 0.641 0.642 0.643 0.660", "0.002", "median of 5", "0.642", 0),
    ("0.640", "0.002", "single portion", "0.640", 0),
]


@pytest.mark.parametrize(("values", "s_r", "route", "value", "more"), ROUTES)
def test_routes(values, s_r, route, value, more):
    found = replicate_route([D(v) for v in values.split()], D(s_r))
    assert (found.route, found.more_needed) == (route, more)
    assert found.is_median == (route is not None and route.startswith("median"))
    if value is None:
        assert found.value is None
    else:
        assert float(found.value) == pytest.approx(float(value), abs=1e-8)
    assert found.reasons


def test_decimals_as_typed_are_compared_not_floats():
    # 0.3 - 0.02 is 0.27999999999999997 as floats and 0.7 - 0.42 is 0.28: as decimals both are exactly 2.8 x 0.1
    for pair in ((D("0.30"), D("0.02")), (D("0.70"), D("0.42")), (D("0.646"), D("0.366"))):
        assert replicate_route(pair, D("0.1")).route == "mean of 2"


def test_the_reason_says_what_was_compared():
    (why,) = replicate_route([D("0.640"), D("0.652")], D("0.002")).reasons
    for part in ("0.012", "0.0056", "2.8", "2 more portions"):
        assert part in why


@settings(derandomize=True)
@given(
    st.lists(st.integers(min_value=600, max_value=660), min_size=2, max_size=10), st.integers(min_value=1, max_value=20)
)
def test_order_of_portions_does_not_matter(thousandths, s_r):
    values = [D(v).scaleb(-3) for v in thousandths]
    forward = replicate_route(values, D(s_r).scaleb(-3))
    backward = replicate_route(values[::-1], D(s_r).scaleb(-3))
    assert forward == backward
    if forward.is_median:
        assert float(forward.value) == pytest.approx(float(np.median([float(v) for v in values])), abs=1e-12)
    elif forward.value is not None:
        assert float(forward.value) == pytest.approx(float(np.mean([float(v) for v in values])), abs=1e-12)


@pytest.mark.parametrize(
    ("values", "s_r", "field"),
    [
        ([], D("0.002"), "replicates"),
        ([D("0.6")] * 11, D("0.002"), "replicates"),
        ([D("0.6"), D("NaN")], D("0.002"), "replicates[2]"),
        ([D("0.6"), 0.61], D("0.002"), "replicates[2]"),
        ([D("0.6"), D("0.61")], D("0"), "s_r"),
        ([D("0.6"), D("0.61")], D("Infinity"), "s_r"),
        ([D("0.6"), D("0.61")], 0.002, "s_r"),
    ],
)
def test_refuses_and_names_the_field(values, s_r, field):
    with pytest.raises(InputError) as refused:
        replicate_route(values, s_r)
    assert refused.value.field == field


def test_u_of_a_mean_and_of_a_median():
    assert u_of_route(0.0035, 0.002, 2) == pytest.approx(math.sqrt(0.0035**2 + 0.000002), rel=1e-12)
    assert u_of_route(0.0, 0.002, 4) == pytest.approx(0.001)
    assert u_of_route(0.0, 0.002, 4, is_median=True) == pytest.approx(0.001 * math.sqrt(math.pi / 2))


def test_median_factor_is_cautious_for_few_portions():
    # a median of few normal values varies less than pi/2 says, more than the mean
    rng = np.random.default_rng(5)
    for n in (4, 5, 10):
        ratio = np.median(rng.standard_normal((200_000, n)), axis=1).var() * n
        assert 1.0 < ratio < math.pi / 2


@pytest.mark.parametrize(
    ("arguments", "field"), [((-1.0, 0.002, 2), "u_other"), ((0.0, 0.0, 2), "s_r"), ((0.0, 0.002, 0), "n")]
)
def test_u_of_route_refuses(arguments, field):
    with pytest.raises(InputError) as refused:
        u_of_route(*arguments)
    assert refused.value.field == field


def test_limits_from_standard_deviations():
    assert repeatability_limit(0.002) == pytest.approx(0.0056)
    # the published s_R of collaborative studies 0.008 to 0.010 gives R 0.022 to 0.028
    assert [round(repeatability_limit(s), 3) for s in (0.008, 0.010)] == [0.022, 0.028]


def test_critical_difference_of_two_laboratories_is_that_of_the_means():
    # with single portions it is R; with many it is 2.8 times the between-laboratory standard deviation
    s_r, s_between = 0.004, 0.007
    r, big_r = 2.8 * s_r, 2.8 * math.hypot(s_r, s_between)
    assert critical_difference_two_labs(big_r, r, 1, 1) == pytest.approx(big_r)
    for n1, n2 in ((2, 2), (2, 4), (1, 10)):
        variance_of_difference = 2 * s_between**2 + s_r**2 / n1 + s_r**2 / n2
        exact = 2.8 * math.sqrt(variance_of_difference / 2)
        assert critical_difference_two_labs(big_r, r, n1, n2) == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize("arguments", [(0.005, 0.006, 1, 1), (0.02, -0.1, 1, 1), (0.02, 0.006, 0, 1)])
def test_critical_difference_refuses(arguments):
    with pytest.raises(InputError):
        critical_difference_two_labs(*arguments)


def test_s_r_from_duplicates_is_the_pooled_standard_deviation():
    pairs = [(0.650, 0.652), (0.701, 0.700), (0.433, 0.430)]
    pooled = np.sqrt(np.mean([np.var(pair, ddof=1) for pair in pairs]))
    assert s_r_from_duplicates(pairs) == pytest.approx(pooled, rel=1e-12)
    with pytest.raises(InputError):
        s_r_from_duplicates([])
    with pytest.raises(InputError):
        s_r_from_duplicates([(0.65, float("nan"))])

"""Intervals of variances: scipy for one, simulation for differences, JCGM 100 H.5 for nested data."""

import math

import numpy as np
import pytest
from scipy import stats

from isohume.foundation.metrology import (
    component_interval,
    component_intervals,
    components_from_summaries,
    intermediate_precision,
    nested_components,
    satterthwaite_interval,
    variance_interval,
)
from isohume.foundation.quantity import InputError, RangeError

DAY_MEANS = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41]  # JCGM 100:2008, table H.9
DAY_S = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86]


def test_one_variance_by_scipy():
    found = variance_interval(4.0, 12, 0.9)
    assert found.low == pytest.approx(12 * 4.0 / stats.chi2.ppf(0.95, 12), rel=1e-12)
    assert found.high == pytest.approx(12 * 4.0 / stats.chi2.ppf(0.05, 12), rel=1e-12)
    assert (found.s, found.s_low**2) == (2.0, pytest.approx(found.low))


def test_one_mean_square_is_the_exact_interval_either_way():
    exact = variance_interval(4.0, 12)
    for other in (satterthwaite_interval([(1.0, 4.0, 12)]), component_interval([(1.0, 4.0, 12)])):
        assert (other.low, other.high) == pytest.approx((exact.low, exact.high), rel=1e-12)


@pytest.mark.parametrize("ratio", [0.1, 1.0, 5.0])
def test_a_component_holds_its_confidence(ratio):
    # 20000 analyses of 8 groups of 3: MS of groups ~ (1 + 3 ratio) chi2(7)/7, of repeats ~ chi2(16)/16
    rng = np.random.default_rng(17)
    between = (1.0 + 3.0 * ratio) * rng.chisquare(7, 20_000) / 7
    within = rng.chisquare(16, 20_000) / 16
    held = 0
    for a, b in zip(between[:4000], within[:4000], strict=True):
        found = component_interval([(1 / 3, a, 7), (-1 / 3, b, 16)])
        held += found.low <= ratio <= found.high
    # the method is known to hold 95 % or a little more (Ting and others, 1990)
    assert 0.94 <= held / 4000 <= 0.98


def test_two_added_and_one_taken_away_hold_their_confidence():
    rng = np.random.default_rng(3)
    a, b, c = 9.0 * rng.chisquare(3, 3000) / 3, 3.0 * rng.chisquare(15, 3000) / 15, rng.chisquare(24, 3000) / 24
    truth = 9.0 / 12 + 3.0 * 5 / 12 - 0.5
    held = sum(
        found.low <= truth <= found.high
        for found in (
            component_interval([(1 / 12, x, 3), (5 / 12, y, 15), (-0.5, z, 24)])
            for x, y, z in zip(a, b, c, strict=True)
        )
    )
    assert 0.93 <= held / 3000 <= 0.98


def test_ten_days_of_the_gum():
    found = components_from_summaries(DAY_MEANS, DAY_S, [5] * 10, "day")
    parts = component_intervals(found)
    # H.5.2: s_b 85 between readings, 43 between days; F does not show the days: their interval begins at zero
    assert parts["repeatability"].s == pytest.approx(85.0, abs=0.5)
    assert parts["day"].s == pytest.approx(43.0, abs=0.5)
    assert parts["day"].low == 0.0
    both = intermediate_precision(found, ["day"])
    assert both.s == pytest.approx(math.hypot(85.0, 43.0), abs=0.6)
    assert both.low < both.raw < both.high
    assert intermediate_precision(found, []).raw == parts["repeatability"].raw


def test_components_add_up_from_the_mean_squares_for_unequal_numbers():
    rng = np.random.default_rng(8)
    labels = [(d, f"{d}{a}") for d in "abcdef" for a in range(2) for _ in range(1 + (a + ord(d)) % 3)]
    day = dict(zip("abcdef", rng.normal(0, 0.004, 6), strict=True))
    values = [0.65 + day[d] + rng.normal(0, 0.002) for d, _ in labels]
    found = nested_components(values, labels, ["day", "analyst"])
    parts = component_intervals(found)
    assert [parts[level.name].raw for level in found.levels] == pytest.approx([level.raw for level in found.levels])
    total = intermediate_precision(found, ["day", "analyst"])
    assert total.raw == pytest.approx(sum(level.raw for level in found.levels) + found.residual_mean_square)


def test_refusals():
    with pytest.raises(InputError):
        variance_interval(-1.0, 3)
    with pytest.raises(RangeError):
        variance_interval(1.0, 0)
    with pytest.raises(RangeError):
        variance_interval(1.0, 3, 1.0)
    for terms in ([], [(-1.0, 2.0, 3)], [(1.0, -2.0, 3)], [(1.0, 2.0, 0)]):
        with pytest.raises(InputError):
            component_interval(terms)
    with pytest.raises(InputError):
        satterthwaite_interval([(1.0, 1.0, 3), (-1.0, 2.0, 3)])
    with pytest.raises(InputError):
        intermediate_precision(components_from_summaries(DAY_MEANS, DAY_S, [5] * 10, "day"), ["analyst"])

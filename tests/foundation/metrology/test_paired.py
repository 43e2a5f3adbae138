"""Paired readings against scipy; the two meters of the paper stand in published/tables/precision.csv."""

import numpy as np
import pytest
from scipy import stats

from isohume.foundation.metrology import deming_line, excess_spread, mean_difference, paired_difference
from isohume.foundation.quantity import InputError, RangeError

A = [0.652, 0.701, 0.348, 0.555, 0.812, 0.604, 0.449]
B = [0.650, 0.698, 0.349, 0.551, 0.807, 0.603, 0.446]


def test_mean_difference_by_scipy():
    found = paired_difference(A, B)
    test = stats.ttest_rel(A, B)
    low, high = test.confidence_interval(0.95)
    assert (found.t, found.p_value) == pytest.approx((test.statistic, test.pvalue), rel=1e-9)
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)
    assert found.u_mean == pytest.approx(stats.sem(np.subtract(A, B)), rel=1e-12)


def test_differences_that_are_all_alike_leave_no_doubt():
    exact = [0.5, 0.75, 0.25]  # binary fractions: the differences are equal to the last bit
    same, apart = paired_difference(exact, exact), paired_difference([x + 0.125 for x in exact], exact)
    assert (same.t, same.p_value) == (0.0, 1.0)
    assert (apart.low, apart.high, apart.p_value) == (0.125, 0.125, 0.0)


def test_two_means_by_scipy():
    found = mean_difference((0.652, 0.648), (0.003 / 10**0.5, 0.005 / 6**0.5), (9, 5))
    test = stats.ttest_ind_from_stats(0.652, 0.003, 10, 0.648, 0.005, 6, equal_var=False)
    assert (found.t, found.p_value) == pytest.approx((test.statistic, test.pvalue), rel=1e-9)


def test_spread_beyond_repeatability():
    # chi-square table, NIST handbook 1.3.6.7.4: 18.307 at 5 % with 10 degrees of freedom
    assert excess_spread(0.004, 11, 0.002, 0.002).critical == pytest.approx(18.307, abs=0.0005)
    assert excess_spread(0.004, 11, 0.002, 0.002).exceeds
    assert not excess_spread(0.003, 11, 0.002, 0.002).exceeds


@pytest.mark.parametrize("ratio", [0.25, 1.0, 4.0])
def test_line_by_singular_values(ratio):
    # scaled so that both scatter alike, Deming's line is the first right singular vector
    x, y = np.array(A), np.array(B) / ratio**0.5
    _, _, v = np.linalg.svd(np.c_[x - x.mean(), y - y.mean()])
    slope = v[0, 1] / v[0, 0] * ratio**0.5
    line = deming_line(A, B, ratio)
    assert line.slope == pytest.approx(slope, rel=1e-9)
    assert line.offset == pytest.approx(np.mean(B) - slope * np.mean(A), abs=1e-12)


def test_uncertainties_by_leaving_out_with_numpy():
    def by_svd(x, y):
        _, _, v = np.linalg.svd(np.c_[x - x.mean(), y - y.mean()])
        slope = v[0, 1] / v[0, 0]
        return np.array([y.mean() - slope * x.mean(), slope])

    x, y, n = np.array(A), np.array(B), len(A)
    whole = by_svd(x, y)
    pseudo = np.array([n * whole - (n - 1) * by_svd(np.delete(x, i), np.delete(y, i)) for i in range(n)])
    covariance = np.cov(pseudo.T) / n
    line = deming_line(A, B)
    assert (line.u_offset, line.u_slope) == pytest.approx(np.sqrt(np.diag(covariance)), rel=1e-6)
    assert line.covariance == pytest.approx(covariance[0, 1], rel=1e-6)
    at, u = line.difference_at(0.6)
    assert at == pytest.approx(whole[0] + (whole[1] - 1) * 0.6, abs=1e-9)
    assert u == pytest.approx(np.sqrt([1, 0.6] @ covariance @ [1, 0.6]), rel=1e-6)


def test_the_slope_holds_its_confidence():
    # 600 made comparisons of 20 products: the 95 % interval of the slope holds 1
    rng, held = np.random.default_rng(2), 0
    truth = np.linspace(0.3, 0.85, 20)
    for _ in range(600):
        line = deming_line((truth + rng.normal(0, 0.004, 20)).tolist(), (truth + rng.normal(0, 0.004, 20)).tolist())
        held += abs(line.slope - 1.0) <= line.half_width(line.u_slope)
    assert held / 600 == pytest.approx(0.95, abs=0.03)


def test_refusals():
    with pytest.raises(InputError):
        paired_difference([0.6, 0.7], [0.6, 0.7])
    with pytest.raises(InputError):
        paired_difference([0.6, 0.7, 0.8], [0.6, 0.7])
    with pytest.raises(InputError):
        paired_difference([0.6, 0.7, float("inf")], [0.6, 0.7, 0.8])
    with pytest.raises(RangeError):
        paired_difference(A, B, confidence=1.0)
    with pytest.raises(InputError):
        deming_line(A[:4], B[:4])
    with pytest.raises(InputError):
        deming_line([0.6] * 5, B[:5])
    with pytest.raises(InputError):
        deming_line(A, B, 0.0)
    with pytest.raises(InputError):
        mean_difference((0.6, 0.6), (0.0, 0.0), (3, 3))
    with pytest.raises(RangeError):
        mean_difference((0.6, 0.6), (0.1, 0.1), (0, 3))
    with pytest.raises(InputError):
        excess_spread(0.1, 5, 0.0, 0.1)

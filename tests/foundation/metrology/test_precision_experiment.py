"""ISO 5725-2: the worked examples stand in published/tables/precision.csv (checked by validate); here the rest.

Mandel's h and k against their definition on a level of the standard, Cochran against simulation, refusals.
"""

import numpy as np
import pytest

from isohume.foundation.metrology import (
    cochran,
    cochran_critical,
    mandel_h_critical,
    mandel_k_critical,
    precision_level,
)
from isohume.foundation.quantity import InputError, RangeError
from isohume.outlets.validate.check import read_table
from isohume.outlets.validate.precision_checks import groups_of

COAL_1 = groups_of(next(row["inputs"] for row in read_table("precision") if row["id"] == "PC001"))


def test_limits_of_the_first_level_of_the_standard():
    found = precision_level(COAL_1)
    assert (found.laboratories, found.n) == (8, 27)
    assert found.repeatability_limit == pytest.approx(2.8 * 0.0151, abs=2.8 * 0.00005)
    assert found.reproducibility_limit == pytest.approx(2.8 * 0.0264, abs=2.8 * 0.00005)


def test_h_and_k_by_numpy():
    found = precision_level(COAL_1)
    means = np.array([np.mean(cell) for cell in COAL_1])
    s = np.array([np.std(cell, ddof=1) for cell in COAL_1])
    assert found.h == pytest.approx((means - means.mean()) / means.std(ddof=1), rel=1e-12)
    assert found.k == pytest.approx(s / np.sqrt((s**2).mean()), rel=1e-12)
    # laboratory 6 lies highest: a straggler among eight laboratories, no outlier
    assert max(found.h) == found.h[5]
    assert mandel_h_critical(8) < found.h[5] < mandel_h_critical(8, 0.01)


def test_a_laboratory_of_one_value_has_no_k():
    found = precision_level([[0.70, 0.71], [0.69], [0.72, 0.70]])
    assert found.k[1] is None
    assert len(found.h) == 3


def test_between_laboratories_is_never_below_zero_but_says_so():
    found = precision_level([[0.60, 0.70], [0.61, 0.69], [0.62, 0.68]])
    assert found.between_raw < 0.0
    assert found.s_between == 0.0
    assert found.s_reproducibility == found.s_r


def test_critical_values_hold_their_probability():
    # 200000 experiments of nine equal laboratories with duplicates: the printed 5 % is exceeded in 5 % of them
    rng = np.random.default_rng(5)
    x = rng.normal(size=(200_000, 9, 2))
    variances = x.var(axis=2, ddof=1)
    ratio = variances.max(axis=1) / variances.sum(axis=1)
    assert np.mean(ratio > cochran_critical(9, 2)) == pytest.approx(0.05, abs=0.002)
    k = np.sqrt(variances[:, 0] / variances.mean(axis=1))
    assert np.mean(k > mandel_k_critical(9, 2)) == pytest.approx(0.05, abs=0.002)
    means = x.mean(axis=2)
    h = (means[:, 0] - means.mean(axis=1)) / means.std(axis=1, ddof=1)
    assert np.mean(abs(h) > mandel_h_critical(9)) == pytest.approx(0.05, abs=0.002)


def test_cochran_is_a_hint():
    found = cochran([0.1, 0.1, 0.1, 0.1, 0.9], 3)
    assert found.lies_apart
    assert found.position == 4
    assert "look for the cause" in found.hint
    assert not cochran([0.1, 0.11, 0.1, 0.09, 0.12], 3).lies_apart


@pytest.mark.parametrize("cells", [[[1.0, 2.0]], [[1.0, 2.0], []], [[1.0], [2.0]], [[1.0, 2.0], [float("nan"), 1.0]]])
def test_refusals(cells):
    with pytest.raises(InputError):
        precision_level(cells)


def test_ranges():
    for bad in (lambda: mandel_h_critical(2), lambda: cochran_critical(9, 1), lambda: mandel_k_critical(1, 2)):
        with pytest.raises(RangeError):
            bad()
    with pytest.raises(RangeError):
        mandel_h_critical(5, 0.5)
    for wrong in ([0.1], [0.1, -0.1], [0.0, 0.0]):
        with pytest.raises(InputError):
            cochran(wrong, 2)

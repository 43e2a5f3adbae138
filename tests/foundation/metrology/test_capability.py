"""Capability: the job's own example, printed tolerance factors read backwards, coverage of both intervals."""

import numpy as np
import pytest

from isohume.foundation.metrology import (
    capability_index,
    capability_interval_one_sided,
    capability_interval_two_sided,
    process_capability,
)
from isohume.foundation.quantity import InputError, RangeError


def test_the_jobs_example():
    # job description 4.3: mean 0.70, s 0.012, upper limit 0.75 -> 1.39
    assert capability_index(0.70, 0.012, upper=0.75) == pytest.approx(1.39, abs=0.005)
    assert capability_index(0.70, 0.012, lower=0.65, upper=0.75) == pytest.approx(1.39, abs=0.005)
    assert capability_index(0.76, 0.012, upper=0.75) < 0


@pytest.mark.parametrize(
    ("n", "k", "part"),
    # one-sided tolerance factors k at 95 % confidence for 95 % (1.645) of a normal population: ISO 16269-6, table D.4
    [(10, 2.911, 1.6449), (20, 2.396, 1.6449), (25, 2.292, 1.6449), (30, 2.220, 1.6449), (50, 2.065, 1.6449)],
)
def test_the_exact_interval_is_the_tolerance_factor_read_backwards(n, k, part):
    low, high = capability_interval_one_sided(k / 3, n, 0.90)
    assert 3 * low == pytest.approx(part, abs=0.0005)
    assert high > k / 3


def test_the_approximate_interval_of_the_example():
    # Bissell: 1.33 (1 +- 1.96 sqrt(1/(9*20*1.33^2) + 1/(2*19))), worked with a pocket calculator: 0.88 to 1.78
    assert capability_interval_two_sided(1.33, 20) == pytest.approx((0.88, 1.78), abs=0.005)


def test_intervals_hold_the_truth_as_often_as_they_say():
    # 4000 processes of 30 lots whose true index is 1.2 against one limit, and against two that are equally far
    rng = np.random.default_rng(20261128)
    held = {"one": 0, "two": 0}
    for _ in range(4000):
        x = rng.standard_normal(30)
        mean, s = x.mean(), x.std(ddof=1)
        low, high = capability_interval_one_sided(capability_index(mean, s, upper=3.6), 30)
        held["one"] += low <= 1.2 <= high
        low, high = capability_interval_two_sided(capability_index(mean, s, upper=3.6, lower=-30.0), 30)
        held["two"] += low <= 1.2 <= high
    # 95 % with a standard error of 0.34 %; the approximate one is known to be good to about a percent
    assert held["one"] / 4000 == pytest.approx(0.95, abs=0.0104)
    assert held["two"] / 4000 == pytest.approx(0.95, abs=0.02)


def lots(n, seed=3):
    x = np.random.default_rng(seed).standard_normal(n)
    return list(0.70 + 0.012 * (x - x.mean()) / x.std(ddof=1))


def test_a_stable_process_of_enough_lots_is_usable():
    found = process_capability(lots(40), upper=0.75)
    assert found.p_pk == pytest.approx(1.3889, abs=0.0001)
    assert (found.usable, found.stable, found.reasons) == (True, True, ())
    assert found.low < found.p_pk < found.high
    assert found.interval == "exact (noncentral t)"


def test_too_few_lots_and_an_unstable_process_say_so():
    few = process_capability(lots(24), upper=0.75)
    assert not few.usable
    assert "at least 25" in few.reasons[0]
    moved = lots(40)
    moved = [value + (0.03 if i >= 20 else 0.0) for i, value in enumerate(moved)]
    unstable = process_capability(moved, lower=0.60, upper=0.80)
    assert not unstable.usable
    assert "not stable" in unstable.reasons[0]
    assert unstable.interval == "approximate (Bissell)"
    # the step is between lots, not from one to the next: overall s sees it, the moving range hardly
    assert unstable.p_pk < unstable.c_pk


@pytest.mark.parametrize(
    "call",
    [
        lambda: capability_index(0.7, 0.01),
        lambda: capability_index(0.7, 0.0, upper=0.8),
        lambda: capability_index(0.7, 0.1, lower=0.8, upper=0.8),
        lambda: capability_interval_one_sided(1.0, 1),
        lambda: capability_interval_two_sided(float("nan"), 30),
        lambda: process_capability([0.7], upper=0.8),
        lambda: process_capability([0.7, 0.7, 0.7], upper=0.8),
    ],
)
def test_refuses(call):
    with pytest.raises(InputError):
        call()


@pytest.mark.parametrize("level", [0.4, 1.0, float("nan")])
def test_refuses_a_level(level):
    with pytest.raises(RangeError):
        capability_interval_one_sided(1.0, 30, level)

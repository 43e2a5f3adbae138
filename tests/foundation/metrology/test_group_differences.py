"""Between groups against repeatability, ranges, and several quantities at once: certified values, scipy, simulation."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from scipy import stats

from isohume.foundation.metrology import (
    between_groups,
    critical_range_factor,
    probability_all_conform,
    probability_of_conformity,
    range_quantile,
)
from isohume.foundation.quantity import InputError

# NIST StRD, analysis of variance, data set SiRstv (five instruments, five readings each)
RESISTIVITY = {
    "1": [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
    "2": [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    "3": [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    "4": [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    "5": [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
}


def test_f_of_a_certified_analysis_of_variance() -> None:
    found = between_groups(RESISTIVITY)
    assert found.f == pytest.approx(1.18046237440255, rel=1e-9)
    assert found.dof_within == 20
    assert not found.differ
    assert found.p_value == pytest.approx(stats.f_oneway(*RESISTIVITY.values()).pvalue, rel=1e-9)


def test_a_known_repeatability_is_used_unless_the_values_deny_it() -> None:
    values = {"top": [0.812, 0.814], "bottom": [0.861, 0.858]}
    known = between_groups(values, 0.002)
    assert known.dof_within is None
    assert known.s_r == 0.002
    assert known.differ
    denied = between_groups({"top": [0.81, 0.83], "bottom": [0.85, 0.87]}, 0.002)
    assert denied.own_spread
    assert denied.s_r == pytest.approx(0.02 / sqrt(2))


def test_the_risk_of_seeing_a_difference_where_there_is_none_is_five_percent() -> None:
    dice = np.random.default_rng(21)
    runs = [between_groups({str(i): list(dice.normal(0, 1, 3)) for i in range(4)}, 1.0) for _ in range(3000)]
    known = [run.differ for run in runs if not run.own_spread]
    assert np.mean(known) == pytest.approx(0.05, abs=4 * sqrt(0.05 * 0.95 / len(known)))


def test_what_is_said_to_be_seen_nine_times_in_ten_is() -> None:
    dice = np.random.default_rng(22)
    size = between_groups({str(i): [0.0] for i in range(6)}, 1.0).detectable
    seen = 0
    for _ in range(2000):
        levels = dice.normal(0, size, 6)
        seen += between_groups({str(i): [m + dice.normal(0, 1)] for i, m in enumerate(levels)}, 1.0).differ
    assert seen / 2000 == pytest.approx(0.90, abs=0.03)


def test_the_interval_covers_the_true_component() -> None:
    dice = np.random.default_rng(23)
    covered = 0
    for _ in range(2000):
        levels = dice.normal(0, 2.0, 8)
        found = between_groups({str(i): [m + dice.normal(0, 1)] for i, m in enumerate(levels)}, 1.0)
        covered += found.low <= 2.0 <= found.high
    assert covered / 2000 == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize("n", range(2, 11))
def test_the_range_is_the_printed_factor(n: int) -> None:
    assert range_quantile(n) == pytest.approx(float(critical_range_factor(n)), abs=0.051)


@pytest.mark.parametrize("n", [2, 7, 36])
def test_the_range_is_the_studentized_range_without_end_of_degrees_of_freedom(n: int) -> None:
    assert stats.studentized_range.cdf(range_quantile(n, 0.95), n, 1e7) == pytest.approx(0.95, abs=1e-5)


def test_one_quantity_alone_is_the_usual_probability() -> None:
    alone = probability_all_conform([0.846], [0.002], 0.0035, upper=0.85)
    assert alone == pytest.approx(probability_of_conformity(0.846, sqrt(0.002**2 + 0.0035**2), upper=0.85), rel=1e-9)


def test_several_quantities_are_a_multivariate_normal() -> None:
    values, own, common = [0.846, 0.841, 0.849], [0.001, 0.002, 0.0014], 0.0035
    covariance = np.full((3, 3), common**2) + np.diag(np.square(own))
    oracle = stats.multivariate_normal(values, covariance).cdf([0.85] * 3, lower_limit=[0.82] * 3)
    assert probability_all_conform(values, own, common, 0.82, 0.85) == pytest.approx(oracle, abs=2e-4)


def test_all_together_lie_between_the_product_and_the_worst() -> None:
    values, own, common = [0.846, 0.843, 0.848], [0.001, 0.002, 0.0014], 0.0035
    singly = [
        float(probability_of_conformity(y, sqrt(u**2 + common**2), upper=0.85))
        for y, u in zip(values, own, strict=True)
    ]
    together = probability_all_conform(values, own, common, upper=0.85)
    assert np.prod(singly) < together < min(singly)
    independent = probability_all_conform(values, own, 0.0, upper=0.85)
    assert independent == pytest.approx(
        np.prod([float(probability_of_conformity(y, u, upper=0.85)) for y, u in zip(values, own, strict=True)])
    )


@pytest.mark.parametrize(
    "call",
    [
        lambda: between_groups({"one": [1.0, 2.0]}),
        lambda: between_groups({"a": [1.0], "b": [2.0]}),
        lambda: between_groups({"a": [1.0, 1.0], "b": [2.0, 2.0]}),
        lambda: between_groups({"a": [], "b": [2.0]}, 1.0),
        lambda: between_groups({"a": [1.0], "b": [2.0]}, 0.0),
        lambda: between_groups({"a": [1.0], "b": [float("inf")]}, 1.0),
        lambda: range_quantile(1),
        lambda: range_quantile(5, 1.0),
        lambda: probability_all_conform([], [], 0.1, upper=1.0),
        lambda: probability_all_conform([0.5], [0.0], 0.0, upper=1.0),
        lambda: probability_all_conform([0.5], [-0.1], 0.1, upper=1.0),
    ],
)
def test_refuses(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError):
        call()

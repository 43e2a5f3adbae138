"""Robust means, homogeneity and rounds; the printed examples stand in published/tables/precision.csv."""

import numpy as np
import pytest
from statsmodels.robust.scale import Huber

from isohume.foundation.metrology import algorithm_a, homogeneity, rounds_together
from isohume.foundation.quantity import InputError


@pytest.mark.parametrize("seed", range(4))
def test_algorithm_a_by_statsmodels(seed):
    # Huber's estimate with the constant 1.13339 that the standard rounds to 1.134: 0.0005 of s, a little more moved
    x = np.random.default_rng(seed).normal(0.65, 0.01, 25)
    x[:2] += 0.08
    found = algorithm_a(x.tolist())
    mean, s = Huber(c=1.5, tol=1e-12, maxiter=500)(x)
    assert found.s == pytest.approx(float(s), rel=0.003)
    assert found.mean == pytest.approx(float(mean), abs=0.01 * float(s))
    assert found.u == pytest.approx(1.25 * found.s / 5.0)


def test_a_wild_result_hardly_moves_the_robust_mean():
    plain = [0.648, 0.650, 0.651, 0.652, 0.649, 0.650, 0.653, 0.647]
    assert algorithm_a([*plain, 0.95]).mean == pytest.approx(algorithm_a(plain).mean, abs=0.001)


def test_results_that_are_mostly_alike():
    assert algorithm_a([0.65, 0.65, 0.65, 0.66]).s == 0.0


PAIRS = [(0.650, 0.651), (0.652, 0.650), (0.649, 0.651), (0.651, 0.651), (0.650, 0.649), (0.652, 0.651), (0.648, 0.650)]


def test_items_alike_enough_or_not():
    assert homogeneity(PAIRS, 0.01).alike
    apart = [(a + 0.004 * i, b + 0.004 * i) for i, (a, b) in enumerate(PAIRS)]
    found = homogeneity(apart, 0.01)
    assert not found.alike
    assert not found.alike_by_chance_allowed
    # between items of equal spacing 0.004: s of 0..6 x 0.004 = 0.00864, nearly all of it between them
    assert found.s_sample == pytest.approx(0.00864, abs=0.0006)


def test_a_bias_shows_over_rounds():
    found = rounds_together([1.2, 1.4, 1.1, 1.5])
    # 5.2/2 by hand
    assert found.rescaled_sum == pytest.approx(2.6)
    assert (found.word, found.n) == ("warning", 4)
    assert found.running[0] == 1.2
    assert rounds_together([1.2, -1.4]).word == "acceptable"


def test_refusals():
    for bad in ([0.6, 0.6], [0.6, 0.6, float("nan")]):
        with pytest.raises(InputError):
            algorithm_a(bad)
    with pytest.raises(InputError):
        homogeneity(PAIRS[:6], 0.01)
    with pytest.raises(InputError):
        homogeneity(PAIRS, 0.0)
    with pytest.raises(InputError):
        rounds_together([])

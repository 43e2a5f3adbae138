"""Monte Carlo after JCGM 101: the additive examples, exact distributions as oracles, the stopping rule."""

import math

import numpy as np
import pytest
from scipy import stats

from isohume.foundation.metrology import (
    ArcSine,
    CorrelatedNormal,
    Normal,
    Rectangular,
    StudentT,
    Triangular,
    compare_with_gum,
    numerical_tolerance,
    simulate,
    simulate_until_stable,
)
from isohume.foundation.metrology.monte_carlo import _summary
from isohume.foundation.quantity import InputError

WIDE = math.sqrt(3.0)  # a rectangular input of u = 1


def total(a, b, c, d):
    return a + b + c + d


def test_four_normal_inputs():
    # JCGM 101:2008, 9.2.2: u 2.00, symmetric 95 % interval -3.92 to 3.92; four standard errors of a million trials
    found = simulate(total, [Normal(0.0, 1.0)] * 4)
    assert found.value == pytest.approx(0.0, abs=0.008)
    assert found.u == pytest.approx(2.0, abs=0.006)
    assert found.symmetric == pytest.approx((-3.92, 3.92), abs=0.022)


def test_four_rectangular_inputs_against_the_exact_distribution():
    # JCGM 101:2008, 9.2.3: u 2.00, interval -3.88 to 3.88; the exact end point from the sum of four uniforms
    exact = _irwin_hall_quantile(0.975)
    assert exact == pytest.approx(3.88, abs=0.005)
    found = simulate(total, [Rectangular(-WIDE, WIDE)] * 4)
    assert found.u == pytest.approx(2.0, abs=0.005)
    assert found.symmetric == pytest.approx((-exact, exact), abs=0.02)


def _irwin_hall_quantile(p):
    """The p quantile of the sum of four uniform inputs of u = 1, from its density by plain bisection."""

    def cdf(x):
        return sum((-1) ** k * math.comb(4, k) * max(0.0, x - k) ** 4 for k in range(5)) / 24.0

    low, high = 0.0, 4.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if cdf(middle) < p else (low, middle)
    return (low - 2.0) * 2.0 * WIDE


def test_one_dominating_rectangular_input():
    # JCGM 101:2008, 9.2.4: u 10.1, interval -17.0 to 17.0 where the GUM says 19.9
    found = simulate(total, [Rectangular(-WIDE, WIDE)] * 3 + [Rectangular(-10 * WIDE, 10 * WIDE)])
    assert found.u == pytest.approx(10.1, abs=0.05)
    assert found.symmetric == pytest.approx((-17.0, 17.0), abs=0.05)
    assert not compare_with_gum(0.0, found.u, 1.959964 * found.u, found).agrees


def test_the_shortest_interval_of_a_skewed_result():
    # the exponential distribution: shortest interval 0 to -ln(1 - p), symmetric one between its quantiles
    found = simulate(lambda r: -np.log(r), [Rectangular(0.0, 1.0)], probability=0.9)
    assert found.shortest == pytest.approx((0.0, -math.log(0.1)), abs=0.02)
    assert found.symmetric == pytest.approx((-math.log(0.95), -math.log(0.05)), abs=0.02)
    assert found.shortest[1] - found.shortest[0] < found.symmetric[1] - found.symmetric[0]


@pytest.mark.parametrize(
    ("one", "exact"),
    [
        (Normal(1.0, 0.5), stats.norm(1.0, 0.5)),
        (StudentT(1.0, 0.5, 6), stats.t(6, 1.0, 0.5)),
        (Rectangular(-1.0, 2.0), stats.uniform(-1.0, 3.0)),
        (Triangular(-1.0, 2.0), stats.triang(0.5, -1.0, 3.0)),
        (ArcSine(-1.0, 2.0), stats.arcsine(-1.0, 3.0)),
    ],
)
def test_draws_follow_the_stated_distribution(one, exact):
    (draws,) = one.draw(np.random.default_rng(11), 20_000)
    assert stats.kstest(draws, exact.cdf).pvalue > 0.001


def test_correlated_draws_have_the_stated_covariance():
    line = CorrelatedNormal((-0.1712, 0.00218), ((8.28e-6, -1.79e-6), (-1.79e-6, 4.46e-7)))
    draws = np.array(line.draw(np.random.default_rng(12), 400_000))
    assert draws.mean(axis=1) == pytest.approx([-0.1712, 0.00218], abs=2e-5)
    assert np.cov(draws) == pytest.approx(np.array(line.covariance), rel=0.01)
    # JCGM 100:2008, H.3.4: b(30) = -0.1494, u 0.0041
    found = simulate(lambda offset, slope: offset + 10.0 * slope, [line])
    assert found.value == pytest.approx(-0.1494, abs=0.0001)
    assert found.u == pytest.approx(0.0041, abs=0.0001)


def test_a_singular_covariance_is_drawn_and_an_impossible_one_refused():
    together = CorrelatedNormal((0.0, 0.0), ((1.0, 2.0), (2.0, 4.0)))
    a, b = together.draw(np.random.default_rng(3), 100)
    assert b == pytest.approx(2.0 * a, abs=1e-6)
    with pytest.raises(InputError, match="covariance"):
        CorrelatedNormal((0.0, 0.0), ((1.0, 2.0), (2.0, 1.0)))
    with pytest.raises(InputError, match="covariance"):
        CorrelatedNormal((0.0, 0.0), ((1.0, 0.2), (0.3, 1.0)))


@pytest.mark.parametrize("probability", [0.3, 0.5, 0.68, 0.95, 0.99])
def test_intervals_are_those_of_all_trials_in_order(probability):
    # the plain twin: sort everything, walk along
    results = np.random.default_rng(8).gamma(2.0, size=20_001)
    found = _summary(results, probability, 8)
    ordered = sorted(results.tolist())
    q = math.floor(probability * len(ordered) + 0.5)
    width, start = min((ordered[i + q] - ordered[i], i) for i in range(len(ordered) - q))
    r = (len(ordered) - q + 1) // 2
    assert found.shortest == (ordered[start], ordered[start + q])
    assert found.shortest[1] - found.shortest[0] == width
    assert found.symmetric == (ordered[r - 1], ordered[r + q - 1])


def test_the_same_seed_gives_the_same_result():
    inputs = [Normal(0.0, 1.0), Rectangular(0.0, 1.0)]
    first, again = (simulate(lambda x, y: x * y, inputs, 10_000, seed=4) for _ in range(2))
    assert first == again
    assert simulate(lambda x, y: x * y, inputs, 10_000, seed=5) != first


def test_stops_when_stable_to_the_wanted_digits():
    found = simulate_until_stable(total, [Normal(0.0, 1.0)] * 4)
    # u = 2.0 to two digits: delta 0.05; the source's own adaptive runs needed some 10^5 trials
    assert found.stable
    assert found.tolerance == pytest.approx(0.05)
    assert found.symmetric == pytest.approx((-3.92, 3.92), abs=0.05)
    assert 20_000 <= found.trials <= 500_000
    assert compare_with_gum(0.0, 2.0, 3.92, found).agrees


def test_says_when_it_is_not_stable():
    found = simulate_until_stable(total, [Normal(0.0, 1.0)] * 4, digits=4, most_trials=30_000)
    assert found.stable is False
    assert found.trials == 30_000


@pytest.mark.parametrize(
    ("u", "digits", "delta"),
    [(0.00035, 2, 0.000005), (10, 1, 5), (10, 2, 0.5), (0.0996, 2, 0.005), (2.0, 2, 0.05), (0.35, 1, 0.05)],
)
def test_numerical_tolerance(u, digits, delta):
    # JCGM 101:2008, 7.9.2: 0.00035 g kept to two digits is 35 x 10^-5, delta 0.000005 g
    assert numerical_tolerance(u, digits) == pytest.approx(delta, rel=1e-12)


@pytest.mark.parametrize(
    "call",
    [
        lambda: simulate(lambda x: x, [Normal(0.0, 1.0)], 1_000),
        lambda: simulate(lambda x: x, [Normal(0.0, 1.0)], probability=1.0),
        lambda: simulate(lambda x: float(x[0]), [Normal(0.0, 1.0)], 10_000),
        lambda: simulate(lambda x: x / np.where(x > 3.0, np.nan, 1.0), [Normal(0.0, 1.0)], 10_000),
        lambda: numerical_tolerance(0.0),
        lambda: numerical_tolerance(1.0, 0),
        lambda: Normal(0.0, -1.0),
        lambda: StudentT(0.0, 1.0, 0.5),
        lambda: Rectangular(1.0, 1.0),
    ],
)
def test_refuses(call):
    with pytest.raises(InputError):
        call()

"""Average run lengths: printed values, and a Markov chain written anew for sums and averages."""

import math

import numpy as np
import pytest

from isohume.foundation.metrology import ChartRules, average_run_length
from isohume.foundation.quantity import InputError

STATES = 401


def phi(z):
    return 0.5 * (1.0 + np.vectorize(math.erf)(z / math.sqrt(2.0)))


def chain_of_one_sum(k, h, shift):
    """Brook and Evans 1972: the sum in cells of width w, the first half as wide about zero."""
    wide = 2.0 * h / (2 * STATES - 1)
    centres = np.arange(STATES) * wide
    upper = phi(centres[None, :] + 0.5 * wide - centres[:, None] + k - shift)
    lower = phi(centres[None, :] - 0.5 * wide - centres[:, None] + k - shift)
    lower[:, 0] = 0.0
    return np.linalg.solve(np.eye(STATES) - (upper - lower), np.ones(STATES))[0]


def chain_of_averages(weight, width, shift):
    """Lucas and Saccucci 1990: the average in cells between its limits, the middle one about the centre."""
    limit = width * math.sqrt(weight / (2.0 - weight))
    wide = 2.0 * limit / STATES
    centres = (np.arange(STATES) - STATES // 2) * wide
    ahead = (centres[None, :] - (1.0 - weight) * centres[:, None]) / weight - shift
    half = 0.5 * wide / weight
    moves = phi(ahead + half) - phi(ahead - half)
    return np.linalg.solve(np.eye(STATES) - moves, np.ones(STATES))[STATES // 2]


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("h", [4.0, 5.0])
def test_cumulative_sums_are_those_of_the_markov_chain(h, shift):
    both = 1.0 / (1.0 / chain_of_one_sum(0.5, h, shift) + 1.0 / chain_of_one_sum(0.5, h, -shift))
    assert average_run_length(ChartRules(kind="cusum", h=h), shift) == pytest.approx(both, rel=2e-4)


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.0, 2.0])
@pytest.mark.parametrize(("weight", "width"), [(0.2, 2.86), (0.1, 2.814)])
def test_averages_are_those_of_the_markov_chain(weight, width, shift):
    rules = ChartRules(kind="ewma", weight=weight, width=width)
    assert average_run_length(rules, shift, settled_limits=True) == pytest.approx(
        chain_of_averages(weight, width, shift), rel=5e-4
    )


def test_exact_limits_signal_sooner_after_an_early_step():
    rules = ChartRules(kind="ewma")
    for shift in (0.0, 0.5, 1.0, 2.0):
        assert average_run_length(rules, shift) < average_run_length(rules, shift, settled_limits=True)


def test_weights_of_the_published_pair_give_the_run_length_they_were_chosen_for():
    # Crowder 1989: weight 0.2 with 2.72 for 250 points (L to 0.01: run length to 0.5 %); with 2.86 for 370
    assert average_run_length(ChartRules(kind="ewma", width=2.72), 0.0, True) == pytest.approx(250, rel=0.02)
    assert average_run_length(ChartRules(kind="ewma", width=2.86), 0.0, True) == pytest.approx(370, rel=0.01)


@pytest.mark.parametrize(("shift", "printed"), [(0.0, 370.4), (0.5, 155.2), (1.0, 43.9), (2.0, 6.30)])
def test_three_sigma_limits_alone(shift, printed):
    found = average_run_length(ChartRules(rules=("beyond 3 sigma",)), shift)
    assert found == pytest.approx(printed, abs=0.05 if printed > 10 else 0.005)
    assert found == pytest.approx(1.0 / (1.0 - phi(3.0 - shift) + phi(-3.0 - shift)), rel=1e-12)


def test_eight_on_one_side_alone_is_that_of_coin_tosses():
    # the first run of 8 heads or 8 tails of a fair coin: 2^8 - 1 tosses
    assert average_run_length(ChartRules(rules=("8 on one side",))) == pytest.approx(255.0, rel=1e-12)


@pytest.mark.parametrize(
    ("rules", "shift", "field"),
    [
        (ChartRules(), 0.0, "rules"),
        (ChartRules(rules=()), 0.0, "rules"),
        (ChartRules(rules=("beyond 3 sigma",)), math.nan, "shift"),
    ],
)
def test_refuses(rules, shift, field):
    with pytest.raises(InputError) as refused:
        average_run_length(rules, shift)
    assert refused.value.field == field

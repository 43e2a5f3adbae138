"""Uncertainty budgets: the end-gauge example of the GUM and the rules around it."""

import math

import pytest

from isohume.foundation.metrology import Component, combine, coverage_factor, welch_satterthwaite
from isohume.foundation.quantity import InputError, RangeError

# JCGM 100:2008, H.1, table H.1: difference of the gauges from observations, comparator (random, systematic)
OF_THE_DIFFERENCE = [(5.8, 24), (3.9, 5), (6.7, 8)]


def end_gauge():
    u_d = math.hypot(*(u for u, _ in OF_THE_DIFFERENCE))
    return combine(
        [
            Component("standard", 25.0, dof=18),
            Component("difference", u_d, dof=welch_satterthwaite(OF_THE_DIFFERENCE)),
            Component("expansion", 0.58e-6, sensitivity=0.1 * 50000623, dof=50),
            Component("temperature", 0.029, sensitivity=-11.5e-6 * 50000623, dof=2),
        ]
    )


def test_end_gauge_of_the_gum():
    budget = end_gauge()
    # H.1.4, H.1.6: u_c 32 nm, nu_eff 16, k 2.92, U99 93 nm
    assert budget.combined_u == pytest.approx(32.0, abs=0.5)
    assert math.floor(budget.effective_dof) == 16
    assert budget.coverage_factor(0.99) == pytest.approx(2.92, abs=0.005)
    assert budget.expanded_u(0.99) == pytest.approx(93.0, abs=0.5)


def test_difference_of_the_gauges():
    # H.1.3.2: u(d) 9.7 nm with 25.6 degrees of freedom
    assert math.hypot(*(u for u, _ in OF_THE_DIFFERENCE)) == pytest.approx(9.7, abs=0.05)
    assert welch_satterthwaite(OF_THE_DIFFERENCE) == pytest.approx(25.6, abs=0.3)


def test_shares_add_up_and_rank_as_the_contributions():
    budget = end_gauge()
    assert sum(budget.shares) == pytest.approx(1.0, abs=1e-14)
    by_size = sorted(budget.components, key=lambda component: component.contribution)
    by_share = [c for _, c in sorted(zip(budget.shares, budget.components, strict=True), key=lambda p: p[0])]
    assert by_size == by_share


def test_degrees_of_freedom_are_cut_to_whole_numbers():
    assert coverage_factor(0.99, 16.9) == coverage_factor(0.99, 16)
    # four equal parts of 4 dof each give 16, whatever the last bits of the sum say
    sixteen = welch_satterthwaite([(0.1, 4)] * 4)
    assert coverage_factor(0.95, sixteen) == coverage_factor(0.95, 16)
    assert coverage_factor(0.95) == pytest.approx(1.95996, abs=0.00001)


def test_unlimited_components_leave_dof_infinite():
    assert combine([Component("a", 1.0), Component("b", 2.0)]).effective_dof == math.inf
    assert welch_satterthwaite([(0.0, 3)]) == math.inf


@pytest.mark.parametrize(
    "components",
    [
        [],
        [Component("a", 0.0)],
        [Component("a", 1.0), Component("a", 1.0)],
    ],
)
def test_refuses_an_empty_a_certain_and_a_doubled_budget(components):
    with pytest.raises(InputError):
        combine(components)


@pytest.mark.parametrize(
    ("arguments", "error"),
    [
        (("a", -1.0), InputError),
        (("a", float("nan")), InputError),
        (("a", 1.0, float("inf")), InputError),
        (("a", 1.0, 1.0, 0.5), RangeError),
    ],
)
def test_refuses_a_component_that_is_none(arguments, error):
    with pytest.raises(error):
        Component(*arguments)


@pytest.mark.parametrize("probability", [0.0, 1.0])
def test_refuses_a_probability_at_its_ends(probability):
    with pytest.raises(RangeError):
        coverage_factor(probability)


def test_refuses_dof_below_one():
    with pytest.raises(RangeError):
        welch_satterthwaite([(1.0, 0.5)])

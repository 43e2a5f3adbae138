"""Clausius and Clapeyron between two temperatures: printed pairs, the trade's own example, both ways."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.foundation.quantity.measured import Measured
from isohume.product.sorption.net_heat import net_heat_between, shifted_a_w, shifted_measured

# a_w at 15 and 35 degC and net heat in kJ/mol: reference table, ids I0325-I0391, arithmetic on published constants
PRINTED = [
    (0.29885, 0.35582, 6.4407),
    (0.46875, 0.53347, 4.7738),
    (0.63628, 0.69391, 3.2008),
    (0.23298, 0.29385, 8.5682),
    (0.46196, 0.54050, 5.7958),
    (0.69573, 0.75802, 3.1652),
    (0.28845, 0.34724, 6.8473),
    (0.46721, 0.53504, 5.0040),
    (0.64498, 0.70449, 3.2579),
    (0.29493, 0.34432, 5.7157),
    (0.47277, 0.52957, 4.1885),
    (0.64681, 0.69689, 2.7526),
    (0.34714, 0.37372, 2.7231),
    (0.48539, 0.51421, 2.1295),
    (0.61890, 0.64570, 1.5651),
]


@pytest.mark.parametrize(("cold", "warm", "heat"), PRINTED)
def test_printed_pairs_of_five_seeds(cold, warm, heat):
    # half a unit of the fifth decimal of each a_w moves q by at most R/(1/T1 - 1/T2) (5e-6/a1 + 5e-6/a2)
    reach = 8.314462618e-3 / (1 / 288.15 - 1 / 308.15)
    tolerance = reach * 5e-6 * (1 / cold + 1 / warm) + 5e-5
    assert net_heat_between(cold, 15.0, warm, 35.0) == pytest.approx(heat, abs=tolerance)


def test_the_trade_example():
    # job description 4.2 and row 22: 3 kJ/mol, 0.850 at 25 degC is 0.833 at 20 and 0.867 at 30
    assert shifted_a_w(0.850, 3.0, 25.0, 20.0) == pytest.approx(0.833, abs=5e-4)
    assert shifted_a_w(0.850, 3.0, 25.0, 30.0) == pytest.approx(0.867, abs=5e-4)


@settings(derandomize=True, max_examples=200)
@given(st.floats(0.05, 0.9), st.floats(-2.0, 15.0), st.floats(-20.0, 60.0), st.floats(-20.0, 60.0))
def test_there_and_back(a_w, heat, from_c, to_c):
    if abs(from_c - to_c) < 1.0 or a_w * math.exp(heat / 8.3e-3 * (1 / (from_c + 273) - 1 / (to_c + 273))) > 0.99:
        return
    there = shifted_a_w(a_w, heat, from_c, to_c)
    assert shifted_a_w(there, heat, to_c, from_c) == pytest.approx(a_w, rel=1e-12)
    assert net_heat_between(a_w, from_c, there, to_c) == pytest.approx(heat, abs=1e-9)
    if abs(heat) > 1e-6:
        assert (there > a_w) == (heat * (to_c - from_c) > 0)


def test_arrays_keep_their_shape_and_scalars_stay_floats():
    many = shifted_a_w(np.array([[0.5, 0.6]]), 3.0, 25.0, 30.0)
    assert many.shape == (1, 2)
    assert many[0, 1] == shifted_a_w(0.6, 3.0, 25.0, 30.0)
    assert type(shifted_a_w(0.6, 3.0, 25.0, 30.0)) is float
    heats = net_heat_between(0.5, np.array([15.0, 20.0]), 0.55, 35.0)
    assert heats[1] == net_heat_between(0.5, 20.0, 0.55, 35.0)


def test_uncertainty_against_draws():
    a_w, heat, warm = Measured(0.85, 0.002), Measured(3.0, 0.5), Measured(25.0, 0.3)
    linear = shifted_measured(a_w, heat, warm, 30.0)
    draw = np.random.default_rng(7)
    n = 200_000
    many = shifted_a_w(draw.normal(0.85, 0.002, n), draw.normal(3.0, 0.5, n), draw.normal(25.0, 0.3, n), 30.0)
    assert linear.value == pytest.approx(float(many.mean()), abs=5 * float(many.std()) / n**0.5)
    assert linear.u == pytest.approx(float(many.std()), rel=0.01)  # three standard errors of a spread of 200,000


def test_what_shares_a_cause_stays_correlated():
    reading = Measured(0.85, 0.002)
    assert (shifted_measured(reading, Measured(3.0, 0.5), 25.0, 25.0) - reading).u == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize(
    "call",
    [
        lambda: shifted_a_w(0.0, 3.0, 25.0, 30.0),
        lambda: shifted_a_w(65.2, 3.0, 25.0, 30.0),
        lambda: shifted_a_w(0.99, 10.0, 25.0, 40.0),  # beyond 1
        lambda: shifted_a_w(0.5, 900.0, 25.0, 30.0),  # a heat in J/g
        lambda: shifted_a_w(0.5, 3.0, 298.15, 303.15),  # kelvin
        lambda: shifted_measured(Measured(0.99), Measured(10.0, 1.0), 25.0, 40.0),
        lambda: net_heat_between(0.5, 15.0, 1.2, 35.0),
    ],
)
def test_nothing_is_clamped(call):
    with pytest.raises(RangeError):
        call()


def test_one_temperature_twice_has_no_heat():
    with pytest.raises(InputError, match="temperature other than"):
        net_heat_between(0.5, 20.0, 0.55, 20.0)

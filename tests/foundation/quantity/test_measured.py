"""Values that know where their uncertainty came from: correlation, the law of propagation, degrees of freedom."""

import copy
import math
import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.metrology import propagate, unweighted_line
from isohume.foundation.quantity import InputError, RangeError
from isohume.foundation.quantity.measured import Measured, correlated, correlation, covariance, exp, log

# JCGM 100:2008, table H.6
READ = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTION = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_a_value_minus_itself_is_certain():
    x = Measured(0.75, 0.002)
    assert (x - x).value == 0.0
    assert (x - x).u == 0.0
    assert (x - Measured(0.75, 0.002)).u == pytest.approx(math.sqrt(2) * 0.002)
    assert (x / x).u == pytest.approx(0.0, abs=1e-18)
    assert (x - copy.deepcopy(x)).u == 0.0
    assert (x - copy.copy(x)).u == 0.0


def test_a_common_reference_cancels_in_a_difference():
    reference = Measured(0.7529, 0.002, name="reference")
    first = reference + Measured(0.0010, 0.0005)
    second = reference + Measured(0.0004, 0.0005)
    assert (first - second).u == pytest.approx(math.hypot(0.0005, 0.0005), rel=1e-12)
    assert correlation(first, second) == pytest.approx(0.002**2 / (0.002**2 + 0.0005**2), rel=1e-12)


def test_end_gauge_of_the_gum():
    # JCGM 100:2008, H.1: 50.000838 mm, u_c 32 nm, nu_eff 16
    standard = Measured(50000623, 25, 18)
    difference = Measured(215) + Measured(0, 5.8, 24) + Measured(0, 3.9, 5) + Measured(0, 6.7, 8)
    d_alpha, theta = Measured(0, 0.58e-6, 50), Measured(-0.1, 0.41)
    alpha, d_theta = Measured(11.5e-6, 1.2e-6), Measured(0, 0.029, 2)
    length = standard + difference - standard * (d_alpha * theta + alpha * d_theta)
    assert length.value == pytest.approx(50000838, abs=0.5)
    assert length.u == pytest.approx(32, abs=0.5)
    assert math.floor(length.dof) == 16


def test_thermometer_of_the_gum_keeps_the_correlation_of_its_line():
    # JCGM 100:2008, H.3.4: b(30) = -0.1494, u 0.0041 with the covariance of offset and slope, dof 9
    line = unweighted_line([t - 20.0 for t in READ], CORRECTION)
    matrix = [[line.u_offset**2, line.covariance], [line.covariance, line.u_slope**2]]
    offset, slope = correlated([line.offset, line.slope], matrix, dof=line.dof)
    at_30 = offset + slope * 10.0
    assert at_30.value == pytest.approx(-0.1494, abs=0.00005)
    assert at_30.u == pytest.approx(0.0041, abs=0.00005)
    assert at_30.dof == pytest.approx(9.0, rel=1e-12)
    assert correlation(offset, slope) == pytest.approx(-0.930, abs=0.0005)


def test_resistance_and_reactance_of_the_gum():
    # JCGM 100:2008, H.2, table H.2 and H.3 (from memory): V 4.9990(32) V, I 19.6610(95) mA, phi 1.04446(75) rad,
    # r(V,I) -0.36, r(V,phi) 0.86, r(I,phi) -0.65 -> R 127.732(71), X 219.847(295), Z 254.260(236) ohm
    u = np.array([0.0032, 0.0095e-3, 0.00075])
    r = np.array([[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]])
    voltage, current, phase = correlated([4.9990, 19.6610e-3, 1.04446], (r * np.outer(u, u)).tolist())
    impedance = voltage / current
    # cos and sin through their derivatives about the estimate, as the law of propagation does
    turn = phase - phase.value
    resistance = impedance * (math.cos(phase.value) - turn * math.sin(phase.value))
    reactance = impedance * (math.sin(phase.value) + turn * math.cos(phase.value))
    assert (resistance.value, resistance.u) == (pytest.approx(127.732, abs=0.0015), pytest.approx(0.071, abs=0.002))
    assert (reactance.value, reactance.u) == (pytest.approx(219.847, abs=0.0015), pytest.approx(0.295, abs=0.003))
    assert (impedance.value, impedance.u) == (pytest.approx(254.260, abs=0.0015), pytest.approx(0.236, abs=0.002))
    assert correlation(resistance, reactance) == pytest.approx(-0.588, abs=0.02)
    assert correlation(reactance, impedance) == pytest.approx(0.993, abs=0.002)


@settings(derandomize=True, max_examples=60)
@given(
    st.floats(min_value=0.2, max_value=3.0),
    st.floats(min_value=0.2, max_value=3.0),
    st.floats(min_value=-0.95, max_value=0.95),
)
def test_agrees_with_the_law_of_propagation(a, b, r):
    def model(x, y):
        return (x * y - 2.0 / y + x**1.5 - (0.5 - x)) / (x + 3.0) + 2.0**y

    u = [0.02, 0.03]
    matrix = [[u[0] ** 2, r * u[0] * u[1]], [r * u[0] * u[1], u[1] ** 2]]
    x, y = correlated([a, b], matrix)
    direct = model(x, y)
    # the numerical derivatives of the other route are the oracle
    numerical = propagate(model, [a, b], covariance=matrix, derivative="central differences")
    assert direct.value == pytest.approx(numerical.value, rel=1e-12)
    assert direct.u == pytest.approx(numerical.u, rel=1e-6, abs=1e-9)


@settings(derandomize=True, max_examples=60)
@given(st.floats(min_value=0.05, max_value=5.0), st.floats(min_value=0.0, max_value=0.1))
def test_identities_hold_with_their_uncertainty(value, u):
    x = Measured(value, u)
    assert (-x + x).u == 0.0
    for there_and_back in (
        exp(log(x)),
        log(exp(x)),
        (x**2) ** 0.5,
        1.0 / (1.0 / x),
        1.0 - (1.0 - x),
        +x,
        x * 3.0 / 3.0,
    ):
        difference = there_and_back - x
        assert difference.value == pytest.approx(0.0, abs=1e-12)
        assert difference.u == pytest.approx(0.0, abs=1e-12)


def test_exponential_and_logarithm():
    assert exp(Measured(0.0, 0.1)).u == pytest.approx(0.1)
    assert log(Measured(2.0, 0.1)).u == pytest.approx(0.05)
    # a power with an uncertain exponent: d(x^y)/dy = x^y ln x
    assert (2.0 ** Measured(3.0, 0.1)).u == pytest.approx(8.0 * math.log(2.0) * 0.1)
    assert (Measured(-2.0, 0.1) ** 2).u == pytest.approx(0.4)
    assert (Measured(0.0, 0.1) ** 2).u == 0.0
    assert (Measured(4.0, 0.1) ** 0).u == 0.0


def test_covariance_matrix_comes_back():
    matrix = np.array([[4.0, 1.2, -0.6], [1.2, 1.0, 0.1], [-0.6, 0.1, 2.0]])
    xs = correlated([1.0, 2.0, 3.0], matrix.tolist(), names=["a", "b", "c"])
    back = [[covariance(x, y) for y in xs] for x in xs]
    assert np.array(back) == pytest.approx(matrix, rel=1e-12)


def test_fully_correlated_values_cancel():
    a, b = correlated([1.0, 2.0], [[0.01, 0.01], [0.01, 0.01]])
    assert (a - b).u == pytest.approx(0.0, abs=1e-15)


def test_degrees_of_freedom():
    assert Measured(1.0, 0.1).dof == math.inf
    assert Measured(1.0).dof == math.inf
    assert (Measured(1.0, 0.1, 5) + 2.0).dof == pytest.approx(5.0)
    # Welch and Satterthwaite: two equal parts of 4 dof each give 8
    assert (Measured(1.0, 0.1, 4) + Measured(1.0, 0.1, 4)).dof == pytest.approx(8.0)
    # the same cause twice is one cause
    x = Measured(1.0, 0.1, 4)
    assert (x + x).dof == pytest.approx(4.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: Measured(float("nan")),
        lambda: Measured(1.0, -0.1),
        lambda: Measured(1.0, float("inf")),
        lambda: Measured(1.0, 0.1) / Measured(0.0, 0.1),
        lambda: log(Measured(0.0, 0.1)),
        lambda: exp(Measured(1000.0, 0.1)),
        lambda: Measured(-1.0, 0.1) ** 0.5,
        lambda: Measured(-1.0, 0.1) ** Measured(2.0, 0.1),
        lambda: Measured(0.0, 0.1) ** 0.5,
        lambda: correlation(Measured(1.0, 0.1), Measured(1.0)),
        lambda: correlated([1.0, 2.0], [[1.0]]),
        lambda: correlated([1.0, 2.0], [[1.0, 0.1], [0.2, 1.0]]),
        lambda: correlated([1.0, 2.0], [[1.0, 1.5], [1.5, 1.0]]),
        lambda: correlated([1.0, 2.0], [[0.0, 0.5], [0.5, 1.0]]),
        lambda: correlated([1.0, 2.0], [[float("nan"), 0.0], [0.0, 1.0]]),
        lambda: correlated([1.0, 2.0], [[1.0, 0.0], [0.0, 1.0]], names=["a"]),
    ],
)
def test_refuses(call):
    with pytest.raises(InputError):
        call()


@pytest.mark.parametrize("call", [lambda: Measured(1.0, 0.1, 0.5), lambda: correlated([1.0], [[1.0]], dof=0.0)])
def test_refuses_dof_below_one(call):
    with pytest.raises(RangeError):
        call()


def test_what_would_lose_the_correlation_is_refused():
    x = Measured(0.75, 0.002)
    with pytest.raises(TypeError, match="correlation"):
        pickle.dumps(x)
    with pytest.raises(TypeError, match="neither true nor false"):
        bool(x)
    assert "0.75" in repr(x)
    assert next(iter(x.movements)).dof == math.inf
    with pytest.raises(TypeError):
        x.movements[next(iter(x.movements))] = 0.0

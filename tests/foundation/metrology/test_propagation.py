"""The law of propagation: GUM H.1, correlated inputs, second-order terms, and derivatives that cannot be trusted."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.metrology import propagate, welch_satterthwaite
from isohume.foundation.quantity import InputError, ValidRange


def end_gauge(standard, difference, d_alpha, theta, alpha, d_theta):
    """JCGM 100:2008, eq. H.3."""
    return standard + difference - standard * (d_alpha * theta + alpha * d_theta)


VALUES = [50000623.0, 215.0, 0.0, -0.1, 11.5e-6, 0.0]
U = [25.0, math.hypot(5.8, 3.9, 6.7), 0.58e-6, 0.41, 1.2e-6, 0.029]
DOF = [18, welch_satterthwaite([(5.8, 24), (3.9, 5), (6.7, 8)]), 50, math.inf, math.inf, 2]


def test_end_gauge_of_the_gum():
    found = propagate(end_gauge, VALUES, U, dof=DOF)
    # H.1.5, H.1.6: 50.000838 mm, u_c 32 nm, nu_eff 16, U99 93 nm; theta and alpha_s enter at zero sensitivity
    assert found.value == pytest.approx(50000838.0, abs=0.5)
    assert found.u == pytest.approx(32.0, abs=0.5)
    assert math.floor(found.dof) == 16
    assert found.expanded_u(0.99) == pytest.approx(93.0, abs=0.5)
    assert found.sensitivities[3:5] == pytest.approx((0.0, 0.0), abs=1e-6)


def test_second_order_terms_of_the_gum():
    # H.1.7: 34 nm, of which l_s u(d_alpha) u(theta) is 11.7 nm and l_s u(alpha_s) u(d_theta) 1.7 nm
    found = propagate(end_gauge, VALUES, U, dof=DOF, second_order=True)
    assert found.u == pytest.approx(34.0, abs=0.5)
    by_hand = math.hypot(50000623 * 0.58e-6 * 0.41, 50000623 * 1.2e-6 * 0.029)
    assert math.sqrt(found.second_order_variance) == pytest.approx(by_hand, rel=1e-4)


def test_second_order_of_a_square_is_the_variance_of_a_squared_normal():
    # Var(x^2) = 4 m^2 u^2 + 2 u^4 and E(x^2) = m^2 + u^2 exactly, for a normal x
    found = propagate(lambda x: x * x, [0.3], [0.4], second_order=True)
    assert found.u**2 == pytest.approx(4 * 0.09 * 0.16 + 2 * 0.4**4, rel=1e-9)
    assert found.second_order_shift == pytest.approx(0.16, rel=1e-9)


def test_product_of_two_uncertain_zeros():
    # first order sees nothing, Var(xy) = u_x^2 u_y^2
    found = propagate(lambda x, y: x * y, [0.0, 0.0], [2.0, 3.0], second_order=True)
    assert found.u == pytest.approx(6.0, rel=1e-9)


@pytest.mark.parametrize("derivative", ["complex step", "central differences"])
def test_both_kinds_of_derivative_agree_with_the_written_out_ones(derivative):
    def model(x, y, z):
        return x * np.exp(-y) / (1.0 + z * z)

    x, y, z = 1.3, 0.4, 0.7
    found = propagate(model, [x, y, z], [0.05, 0.02, 0.03], derivative=derivative)
    f = x * math.exp(-y) / (1 + z * z)
    assert found.sensitivities == pytest.approx((f / x, -f, -2 * z * f / (1 + z * z)), rel=1e-8)


def test_a_model_without_complex_numbers_falls_back_to_differences():
    found = propagate(math.exp, [0.5], [0.01])
    assert found.derivative == "central differences"
    assert found.u == pytest.approx(0.01 * math.exp(0.5), rel=1e-9)


def test_an_absolute_value_does_not_fool_the_complex_step():
    # abs() of a complex number drops the imaginary part: the complex step alone would say u = 0
    found = propagate(lambda x: abs(x) * 2.0, [-1.5], [0.1])
    assert found.derivative == "central differences"
    assert found.u == pytest.approx(0.2, rel=1e-9)
    assert propagate(lambda x: abs(x) * 2.0, [-1.5], [0.1], derivative="complex step").u == 0.0


def test_a_range_error_of_the_model_comes_through():
    allowed = ValidRange(0.0, 1.0)

    def model(x):
        allowed.check("a_w", x)
        return x * x

    with pytest.raises(InputError, match="a_w"):
        propagate(model, [0.999], [0.01])


@settings(derandomize=True, max_examples=50)
@given(
    st.lists(st.floats(min_value=-2.0, max_value=2.0), min_size=3, max_size=3),
    st.lists(st.floats(min_value=-1.0, max_value=1.0), min_size=9, max_size=9),
)
def test_a_linear_model_gives_the_matrix_product(slopes, entries):
    root = np.array(entries).reshape(3, 3)
    covariance = root @ root.T + 1e-6 * np.eye(3)
    found = propagate(
        lambda x, y, z: slopes[0] * x + slopes[1] * y + slopes[2] * z, [1.0, 2.0, 3.0], covariance=covariance
    )
    assert found.u**2 == pytest.approx(np.array(slopes) @ covariance @ np.array(slopes), rel=1e-6, abs=1e-12)


def test_correlation_of_one_cancels_in_a_difference():
    found = propagate(lambda x, y: x - y, [1.0, 2.0], [0.1, 0.1], correlation=[[1.0, 1.0], [1.0, 1.0]])
    assert found.u == pytest.approx(0.0, abs=1e-9)


def test_thermometer_of_the_gum_needs_the_covariance():
    # JCGM 100:2008, H.3.4: b(30) has u 0.0041; without the covariance 0.0073
    def line(offset, slope):
        return offset + slope * 10.0

    u = [0.002877, 0.000668]
    with_it = propagate(line, [-0.1712, 0.00218], u, correlation=[[1.0, -0.930], [-0.930, 1.0]])
    without = propagate(line, [-0.1712, 0.00218], u)
    assert (with_it.u, without.u) == (pytest.approx(0.0041, abs=0.00005), pytest.approx(0.0073, abs=0.00005))


def test_dof_of_correlated_inputs():
    matrix = [[1.0, 0.5, 0.0], [0.5, 1.0, 0.0], [0.0, 0.0, 1.0]]

    def total(x, y, z):
        return x + y + z

    # correlated inputs of infinite dof limit nothing: u^2 = 1 + 1 + 1 (twice r) + 1, nu = u^4/(1/5)
    unlimited = propagate(total, [1, 1, 1], [1, 1, 1], correlation=matrix, dof=[math.inf, math.inf, 5])
    assert unlimited.dof == pytest.approx(16 * 5)
    limited = propagate(total, [1, 1, 1], [1, 1, 1], correlation=matrix, dof=[5, 5, 5])
    assert limited.dof is None
    with pytest.raises(InputError, match="dof"):
        limited.expanded_u()


@pytest.mark.parametrize(
    ("keywords", "field"),
    [
        ({}, "u"),
        ({"u": [0.1, 0.1], "covariance": np.eye(2)}, "u"),
        ({"u": [0.1]}, "u"),
        ({"u": [0.1, -0.1]}, "u"),
        ({"u": [0.1, 0.1], "correlation": [[1.0]]}, "correlation"),
        ({"u": [0.1, 0.1], "correlation": [[1.0, 0.5], [0.5, 2.0]]}, "correlation"),
        ({"u": [0.1, 0.1], "correlation": [[1.0, 1.5], [1.5, 1.0]]}, "covariance"),
        ({"covariance": [[1.0, 0.2], [0.3, 1.0]]}, "covariance"),
        ({"covariance": [[1.0, float("nan")], [float("nan"), 1.0]]}, "covariance"),
        ({"covariance": np.eye(2), "correlation": np.eye(2)}, "correlation"),
        ({"u": [0.1, 0.1], "dof": [5]}, "dof"),
        ({"covariance": [[1.0, 0.2], [0.2, 1.0]], "second_order": True}, "second_order"),
    ],
)
def test_refuses_and_names_the_field(keywords, field):
    with pytest.raises(InputError) as refused:
        propagate(lambda x, y: x + y, [1.0, 2.0], **keywords)
    assert refused.value.field == field


def test_refuses_a_model_without_a_value():
    with pytest.raises(InputError, match="model"):
        propagate(lambda x: float("nan"), [1.0], [0.1])

"""The line with errors in both: the classic points with the classic answer, limits, symmetry, coverage."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from isohume.desk.york import york_line
from isohume.foundation.metrology import weighted_line
from isohume.foundation.quantity.errors import InputError

# Pearson's points of 1901 with the weights of York 1966, as repeated by Lybanon 1984
X = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]
U_X = [w**-0.5 for w in (1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1)]
U_Y = [w**-0.5 for w in (1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500)]


def test_the_classic_points():
    line = york_line(X, Y, U_X, U_Y)
    # Williamson's exact solution to 11 digits, as tabulated by Reed 1989 and others
    assert line.offset == pytest.approx(5.47991022403, abs=5e-12)
    assert line.slope == pytest.approx(-0.48053340745, abs=5e-12)
    # York et al. 2004, table II: standard errors of the adjusted points and the weighted sum over its dof
    assert line.u_offset == pytest.approx(0.294970735, abs=5e-10)
    assert line.u_slope == pytest.approx(0.0579850090, abs=5e-11)
    assert line.chi_squared / line.dof == pytest.approx(1.483294149, abs=5e-10)
    # widened by the scatter (Cantrell 2008, table 2)
    assert line.scale * line.u_offset == pytest.approx(0.359246523, abs=5e-9)
    assert line.scale * line.u_slope == pytest.approx(0.070620270, abs=5e-9)
    assert line.covariance / (line.u_offset * line.u_slope) == pytest.approx(-0.96309, abs=1e-4)


def test_without_errors_in_x_it_is_the_weighted_line():
    line = york_line(X, Y, [0.0] * 10, U_Y)
    plain = weighted_line(X, Y, U_Y)
    assert (line.offset, line.slope) == pytest.approx((plain.offset, plain.slope), rel=1e-12)
    assert (line.u_offset, line.u_slope) == pytest.approx((plain.u_offset, plain.u_slope), rel=1e-12)
    assert line.predict_u(3.0) == pytest.approx(plain.predict_u(3.0), rel=1e-9)
    assert line.predict(3.0) == pytest.approx(plain.predict(3.0))


def test_x_and_y_exchanged_give_the_same_line():
    there, back = york_line(X, Y, U_X, U_Y), york_line(Y, X, U_Y, U_X)
    assert back.slope == pytest.approx(1 / there.slope, rel=1e-10)
    assert back.offset == pytest.approx(-there.offset / there.slope, rel=1e-10)
    assert back.chi_squared == pytest.approx(there.chi_squared, rel=1e-10)


@settings(derandomize=True, max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(4, 30), st.floats(0.05, 4.0))
def test_no_other_slope_is_better(seed, n, steepness):
    draw = np.random.default_rng(seed)
    true = np.sort(draw.uniform(0, 10, n))
    u_x, u_y = draw.uniform(0.01, 0.4, n), draw.uniform(0.01, 0.4, n)
    x, y = true + u_x * draw.normal(size=n), steepness * true + u_y * draw.normal(size=n)

    def total(slope):
        w = 1 / (u_y**2 + slope**2 * u_x**2)
        offset = np.sum(w * (y - slope * x)) / w.sum()
        return float(np.sum(w * (y - offset - slope * x) ** 2))

    line = york_line(x.tolist(), y.tolist(), u_x.tolist(), u_y.tolist())
    least = minimize_scalar(total, bracket=(0.8 * line.slope, line.slope, 1.2 * line.slope), options={"xtol": 1e-10})
    assert line.chi_squared <= least.fun * (1 + 1e-9)
    assert line.chi_squared == pytest.approx(total(line.slope), rel=1e-9)


def test_stated_uncertainty_against_measuring_again():
    draw = np.random.default_rng(11)
    true = np.linspace(0, 5, 12)
    u_x, u_y = np.full(12, 0.1), np.linspace(0.1, 0.3, 12)
    lines = [
        york_line(
            (true + u_x * draw.normal(size=12)).tolist(), (2 + 0.7 * true + u_y * draw.normal(size=12)).tolist(),
            u_x.tolist(), u_y.tolist(),
        )
        for _ in range(2000)
    ]  # fmt: skip
    slopes = np.array([line.slope for line in lines])
    stated = np.mean([line.u_slope for line in lines])
    assert slopes.std() == pytest.approx(stated, rel=4 / (2 * 2000) ** 0.5)  # four standard errors of a spread
    assert slopes.mean() == pytest.approx(0.7, abs=4 * stated / 2000**0.5)


def test_a_level_line_is_found():
    line = york_line([0.0, 1.0, 2.0, 3.0], [1.0, 1.1, 1.1, 1.0], [0.1] * 4, [0.1] * 4)
    assert line.slope == pytest.approx(0.0, abs=1e-12)
    assert line.offset == pytest.approx(1.05)


@pytest.mark.parametrize(
    ("x", "y", "u_x", "u_y", "said"),
    [
        ([1, 2], [1, 2], [0.1] * 2, [0.1] * 2, "at least 3"),
        ([1, 2, 3], [1, 2], [0.1] * 3, [0.1] * 3, "one a point"),
        ([1, 2, 3], [1, 2, 3], [0.1] * 2, [0.1] * 3, "one a point"),
        ([1, 1, 1], [1, 2, 3], [0.1] * 3, [0.1] * 3, "two different"),
        ([1, 2, float("nan")], [1, 2, 3], [0.1] * 3, [0.1] * 3, "finite"),
        ([1, 2, 3], [1, 2, 3], [0.0] * 3, [0.0] * 3, "not both zero"),
        ([1, 2, 3], [1, 2, 3], [-0.1] * 3, [0.1] * 3, "zero or more"),
    ],
)
def test_what_has_no_line_is_refused(x, y, u_x, u_y, said):
    with pytest.raises(InputError, match=said):
        york_line(x, y, u_x, u_y)

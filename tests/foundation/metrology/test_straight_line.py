"""Lines through calibration points: GUM H.3, the worked check, and general least squares as the oracle."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.metrology import unweighted_line, weighted_line
from isohume.foundation.quantity import InputError

# JCGM 100:2008, table H.6 (temperatures and corrections), degC
READ = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTION = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_thermometer_of_the_gum_with_uncertainties_and_covariance():
    line = unweighted_line([t - 20.0 for t in READ], CORRECTION)
    # JCGM 100:2008, H.3.3 and H.3.4, last printed digit
    assert line.offset == pytest.approx(-0.1712, abs=0.00005)
    assert line.u_offset == pytest.approx(0.0029, abs=0.00005)
    assert line.slope == pytest.approx(0.00218, abs=0.000005)
    assert line.u_slope == pytest.approx(0.00067, abs=0.000005)
    assert line.correlation == pytest.approx(-0.930, abs=0.0005)
    assert line.residual_s == pytest.approx(0.0035, abs=0.00005)
    assert line.dof == 9
    assert line.predict(10.0) == pytest.approx(-0.1494, abs=0.00005)
    assert line.predict_u(10.0) == pytest.approx(0.0041, abs=0.00005)


def test_worked_check_of_two_solutions():
    # the worked example of the check, printed digits of its inputs and results
    line = weighted_line([0.3279742, 0.7529611], [0.3286, 0.7542], [0.0017410, 0.0016595])
    assert line.offset == pytest.approx(0.0001526, abs=1.0e-7)
    assert line.slope == pytest.approx(1.0014427, abs=1.0e-7)
    assert line.u_offset == pytest.approx(0.0033398, abs=1.0e-7)
    assert line.u_slope == pytest.approx(0.0056594, abs=1.0e-7)
    assert line.covariance == pytest.approx(-1.76365e-05, abs=1.0e-9)


points = st.lists(
    st.tuples(
        st.floats(min_value=0.05, max_value=0.98),
        st.floats(min_value=-0.01, max_value=0.01),
        st.floats(min_value=0.0005, max_value=0.01),
    ),
    min_size=3,
    max_size=8,
    unique_by=lambda point: round(point[0], 2),
)


@settings(derandomize=True, max_examples=60)
@given(points)
def test_weighted_line_agrees_with_statsmodels(found):
    x, error, u = (np.array(column) for column in zip(*found, strict=True))
    y = 0.002 + 0.99 * x + error
    fit = sm.WLS(y, sm.add_constant(x), weights=1.0 / u**2).fit()
    line = weighted_line(x.tolist(), y.tolist(), u.tolist())
    assert (line.offset, line.slope) == pytest.approx(tuple(fit.params), abs=1e-9)
    apriori = fit.normalized_cov_params  # the covariance of given weights, not scaled by the residuals
    found_covariance = [[line.u_offset**2, line.covariance], [line.covariance, line.u_slope**2]]
    assert np.array(found_covariance) == pytest.approx(apriori, rel=1e-7)
    assert line.chi_squared == pytest.approx(float(np.sum(((y - fit.predict()) / u) ** 2)), rel=1e-6, abs=1e-9)


@settings(derandomize=True, max_examples=60)
@given(points)
def test_unweighted_line_agrees_with_statsmodels(found):
    x, error, _ = (np.array(column) for column in zip(*found, strict=True))
    y = 0.002 + 0.99 * x + error
    fit = sm.OLS(y, sm.add_constant(x)).fit()
    line = unweighted_line(x.tolist(), y.tolist())
    assert (line.offset, line.slope) == pytest.approx(tuple(fit.params), abs=1e-9)
    assert (line.u_offset, line.u_slope) == pytest.approx(tuple(fit.bse), rel=1e-6, abs=1e-12)
    assert line.covariance == pytest.approx(fit.cov_params()[0, 1], rel=1e-6, abs=1e-15)


def test_prediction_uses_the_covariance_and_takes_arrays():
    line = weighted_line([0.33, 0.53, 0.75], [0.331, 0.5315, 0.7505], [0.002, 0.0015, 0.0017])
    x = np.array([0.2, 0.55, 0.9])
    written_out = np.sqrt(line.u_offset**2 + x**2 * line.u_slope**2 + 2 * x * line.covariance)
    assert line.predict_u(x) == pytest.approx(written_out, rel=1e-9)
    assert line.invert(line.predict(x)) == pytest.approx(x, abs=1e-14)
    assert line.invert_u(0.5, 0.001) == pytest.approx(
        np.sqrt(line.predict_u(line.invert(0.5)) ** 2 + 0.001**2) / line.slope, rel=1e-12
    )


@pytest.mark.parametrize(
    ("x", "y", "u", "field"),
    [
        ([0.3], [0.3], [0.001], "x"),
        ([0.3, 0.3], [0.3, 0.31], [0.001, 0.001], "x"),
        ([0.3, 0.5], [0.3], [0.001, 0.001], "y"),
        ([0.3, 0.5], [0.3, 0.5], [0.001], "u"),
        ([0.3, 0.5], [0.3, 0.5], [0.001, 0.0], "u[2]"),
        ([0.3, float("nan")], [0.3, 0.5], [0.001, 0.001], "x"),
    ],
)
def test_refuses_and_names_the_field(x, y, u, field):
    with pytest.raises(InputError) as refused:
        weighted_line(x, y, u)
    assert refused.value.field == field


def test_unweighted_needs_a_point_more_than_a_line_and_a_flat_line_is_not_read_backwards():
    with pytest.raises(InputError, match="at least 3"):
        unweighted_line([0.3, 0.5], [0.3, 0.5])
    flat = unweighted_line([0.0, 1.0, 2.0], [1.0, 1.0, 1.0])
    with pytest.raises(InputError, match="slope"):
        flat.invert(1.0)

"""The normal distribution against scipy and printed values."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from isohume.foundation.metrology import normal_cdf, normal_quantile
from isohume.foundation.quantity import InputError, RangeError


@pytest.mark.parametrize("z", [-37.0, -8.0, -3.0, -1.0, -1e-9, 0.0, 0.3, 1.4, 2.0, 5.0, 8.5])
def test_distribution_function_agrees_with_scipy(z):
    assert normal_cdf(z) == pytest.approx(stats.norm.cdf(z), rel=2e-13)


@settings(derandomize=True)
@given(st.floats(min_value=-290.0, max_value=-0.31))
def test_quantile_agrees_with_scipy_in_both_tails(exponent):
    p = 10.0**exponent
    assert normal_quantile(p) == pytest.approx(stats.norm.ppf(p), abs=1e-12)
    if exponent > -15.0:
        assert normal_quantile(1.0 - p) == pytest.approx(stats.norm.ppf(1.0 - p), abs=1e-12)


@pytest.mark.parametrize(
    ("probability", "z"),
    [(0.5, 0.0), (0.9, 1.2816), (0.95, 1.6449), (0.975, 1.9600), (0.99, 2.3263), (0.995, 2.5758), (0.999, 3.0902)],
)
def test_quantile_gives_the_printed_table(probability, z):
    # any table of the normal distribution, four decimals
    assert normal_quantile(probability) == pytest.approx(z, abs=0.00005)


@pytest.mark.parametrize("probability", [0.0, 1.0, -0.1, 1.1, float("nan")])
def test_quantile_refuses_what_has_no_quantile(probability):
    with pytest.raises(RangeError, match="probability"):
        normal_quantile(probability)


def test_arrays_keep_their_shape_and_nan_is_refused():
    z = np.array([[-1.0, 0.0], [1.0, np.inf]])
    assert normal_cdf(z) == pytest.approx(stats.norm.cdf(z))
    assert normal_cdf(z).shape == (2, 2)
    with pytest.raises(InputError):
        normal_cdf(float("nan"))
    with pytest.raises(InputError):
        normal_cdf(np.array([0.0, np.nan]))

"""A curve with errors in both: the York line by another road, a bent one against a general minimiser, time exact."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from isohume.desk.curve_errors_in_both import curve_errors_in_both
from isohume.desk.york import york_line
from isohume.foundation.quantity.errors import InputError


def bent_points(seed=3, n=25):
    draw = np.random.default_rng(seed)
    true = draw.uniform(0.5, 0.75, n)
    u_x, u_y = draw.uniform(0.001, 0.004, n), draw.uniform(0.0005, 0.002, n)
    y = 0.08 + 0.2 * (true - 0.6) + 0.5 * (true - 0.6) ** 2
    return true + u_x * draw.normal(size=n), y + u_y * draw.normal(size=n), u_x, u_y


def moved_points(x, y, u_x, u_y, degree, time=None):
    """The plain twin: every point's true place is an unknown of its own, all of them minimised together."""
    size = degree + 1 + (time is not None)

    def misses(unknown):
        coefficients, places = unknown[:size], unknown[size:]
        curve = sum(coefficients[k] * (places - x.mean()) ** k for k in range(degree + 1))
        if time is not None:
            curve = curve + coefficients[-1] * time
        return np.concatenate([(x - places) / u_x, (y - curve) / u_y])

    start = np.concatenate([np.polyfit(x - x.mean(), y, degree)[::-1], [0.0] * (time is not None), x])
    return least_squares(misses, start, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale="jac")


def test_straight_it_is_the_york_line():
    x, y, u_x, u_y = bent_points()
    curve, line = curve_errors_in_both(x, y, u_x, u_y), york_line(x, y, u_x, u_y)
    assert curve.slope(0.6) == pytest.approx(line.slope, rel=1e-9)
    assert curve.value(0.6) == pytest.approx(line.predict(0.6), rel=1e-10)
    assert curve.chi_squared == pytest.approx(line.chi_squared, rel=1e-9)
    assert curve.scale == pytest.approx(line.scale, rel=1e-9)
    # here centred, there not: the same u on the curve
    assert curve.u(0.6) == pytest.approx(line.predict_u(0.6) * line.scale, rel=1e-3)


@pytest.mark.parametrize("degree", [1, 2])
@pytest.mark.parametrize("with_time", [False, True])
def test_against_a_general_minimiser(degree, with_time):
    x, y, u_x, u_y = bent_points()
    time = np.linspace(-1, 1, x.size) if with_time else None
    curve = curve_errors_in_both(x, y, u_x, u_y, degree, time)
    twin = moved_points(x, y, u_x, u_y, degree, time)
    assert curve.chi_squared == pytest.approx(2 * twin.cost, rel=1e-8)
    size = curve.coefficients.size
    assert curve.coefficients == pytest.approx(twin.x[:size], rel=1e-4, abs=1e-7)
    spread = np.linalg.inv(twin.jac.T @ twin.jac)[:size, :size]
    assert np.sqrt(np.diag(curve.covariance)) == pytest.approx(np.sqrt(np.diag(spread)), rel=0.05)


def test_u_against_measuring_again():
    found = [curve_errors_in_both(*bent_points(seed), degree=2).value(0.62) for seed in range(300)]
    stated = np.median([curve_errors_in_both(*bent_points(seed), degree=2).u(0.62) for seed in range(0, 300, 10)])
    # the points differ from set to set, so only the size is compared
    assert np.std(found) == pytest.approx(stated, rel=0.35)
    assert np.mean(found) == pytest.approx(0.08 + 0.2 * 0.02 + 0.5 * 0.02**2, abs=4 * stated / 300**0.5)


def test_too_few_or_shapeless_points_are_refused():
    x, y, u_x, u_y = (each[:3] for each in bent_points())
    with pytest.raises(InputError, match="at least 4"):
        curve_errors_in_both(x, y, u_x, u_y, degree=2, time=np.arange(3.0))

"""Fits in a_w and with errors in both, against slow twins that minimise over every true a_w."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from isohume.foundation.quantity import InputError
from isohume.product.sorption import PANEL, Points, fit

U_A, U_X = 0.003, 0.001


def gab(a, m, c, k):
    return m * c * k * a / ((1 - k * a) * (1 - k * a + c * k * a))


def measured(n=12, seed=2):
    rng = np.random.default_rng(seed)
    a = np.linspace(0.08, 0.93, n)
    return a + U_A * rng.standard_normal(n), gab(a, 0.0658, 12.4, 0.93) + U_X * rng.standard_normal(n)


def test_errors_in_both_against_all_true_a_w_as_unknowns():
    a, x = measured()
    u_a, u_x = np.linspace(0.002, 0.004, 12), np.linspace(0.0008, 0.002, 12)
    found = fit(Points(a, x, u_a_w=u_a, u_moisture=u_x), "gab", residual="both")

    def off(unknown):
        p, true = unknown[:3], unknown[3:]
        return np.concatenate([(x - gab(true, *p)) / u_x, (a - true) / u_a])

    twin = least_squares(off, [0.06, 10, 0.9, *a], x_scale=[0.06, 10, 0.9, *a], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    assert found.values == pytest.approx(twin.x[:3], rel=1e-5)
    assert found.chi_square == pytest.approx(2 * twin.cost, rel=1e-9)
    # the corner of the whole covariance that belongs to the parameters (the scatter is below the stated u here)
    scale = max(1.0, 2 * twin.cost / 9)
    covariance = np.linalg.inv(twin.jac.T @ twin.jac)[:3, :3] * scale
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(np.sqrt(np.diag(covariance)), rel=0.02)


def test_in_a_w_against_the_closed_inverse_of_gab():
    a, x = measured()
    found = fit(Points(a, x, u_a_w=U_A), "gab", residual="a_w")

    def inverse(p):
        m, c, k = p
        middle = (c - 2) * x - m * c
        return 2 * x / (-middle + np.sqrt(middle**2 + 4 * (c - 1) * x**2)) / k

    twin = least_squares(
        lambda p: (inverse(p) - a) / U_A, (0.06, 10.0, 0.9), x_scale=(0.06, 10, 0.9), xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    assert found.values == pytest.approx(twin.x, rel=1e-6)
    assert found.chi_square == pytest.approx(2 * twin.cost, rel=1e-9)


@pytest.mark.parametrize("key", [key for key in PANEL if key != "bet"])
def test_tiny_errors_in_a_w_leave_the_fit_in_moisture(key):
    a, x = measured()
    points = Points(a, x, u_a_w=1e-9, u_moisture=U_X)
    assert fit(points, key, residual="both").values == pytest.approx(fit(points, key).values, rel=1e-4, abs=1e-9)


def test_both_needs_both_uncertainties():
    a, x = measured()
    with pytest.raises(InputError, match="u_moisture"):
        fit(Points(a, x, u_a_w=U_A), "gab", residual="both")


def test_in_a_w_from_a_curve_that_does_not_reach_the_points():
    """Iglesias and Chirife's A lies above the driest moisture in the fit in moisture: the search must get away."""
    a = np.array([0.11, 0.22, 0.33, 0.43, 0.53, 0.69, 0.75, 0.84])
    x = gab(a, 0.0658, 12.4, 0.93)
    found = fit(Points(a, x, u_a_w=U_A), "iglesias_chirife", residual="a_w")

    def off(p):  # (x - A)/B = a/(1 - a), so a = z/(1 + z); moistures below A follow the tangent at a = 0
        z = (x - p[0]) / p[1]
        return (np.where(z > 0, z / (1 + np.maximum(z, 0)), z) - a) / U_A

    twin = least_squares(off, (0.01, 0.1), x_scale=(0.01, 0.1), xtol=1e-15, ftol=1e-15, gtol=1e-15)
    assert found.values == pytest.approx(twin.x, rel=1e-5)
    assert found.chi_square == pytest.approx(2 * twin.cost, rel=1e-7)

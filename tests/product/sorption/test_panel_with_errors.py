"""A panel with the errors that the points state: against an independent fit along both errors."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from isohume.product.sorption.panel import fit_panel
from isohume.product.sorption.panel_with_errors import fit_panel_with_errors
from isohume.product.sorption.points import Points

A_W = np.array([0.113, 0.225, 0.328, 0.432, 0.529, 0.576, 0.689, 0.843])
MOISTURE = np.array([0.0436, 0.0638, 0.0800, 0.0982, 0.1196, 0.1325, 0.1752, 0.2980])
U_A_W, U_MOISTURE = np.full(8, 0.003), np.full(8, 0.0005)


def test_without_errors_in_a_w_it_is_the_panel() -> None:
    points = Points(A_W, MOISTURE, u_moisture=U_MOISTURE)
    plain, found = fit_panel(points, ("oswin", "gab")), fit_panel_with_errors(points, ("oswin", "gab"))
    assert [fit.parameters for fit in found.fits] == [fit.parameters for fit in plain.fits]


def test_errors_in_both_reach_the_optimum_of_an_independent_solver() -> None:
    """Oswin, X = A (a/(1 - a))^B, with the true a_w of every point searched beside A and B."""

    def distances(p: np.ndarray) -> np.ndarray:
        feet = p[2:]
        moisture = p[0] * (feet / (1 - feet)) ** p[1]
        return np.concatenate([(MOISTURE - moisture) / U_MOISTURE, (A_W - feet) / U_A_W])

    best = least_squares(distances, np.concatenate([[0.1, 0.5], A_W]), x_scale="jac", xtol=1e-14, ftol=1e-14)
    panel = fit_panel_with_errors(Points(A_W, MOISTURE, u_a_w=U_A_W, u_moisture=U_MOISTURE), ("oswin",))
    assert panel["oswin"].chi_square == pytest.approx(2 * best.cost, rel=1e-8)
    assert list(panel["oswin"].parameters.values()) == pytest.approx(best.x[:2], rel=1e-5)


def test_errors_in_a_w_alone_reach_the_optimum_of_an_independent_solver() -> None:
    """Oswin solved for a_w: a = 1/(1 + (X/A)^(-1/B)), residuals in a_w."""

    def distances(p: np.ndarray) -> np.ndarray:
        return (1 / (1 + (MOISTURE / p[0]) ** (-1 / p[1])) - A_W) / U_A_W

    best = least_squares(distances, [0.1, 0.5], x_scale="jac", xtol=1e-14, ftol=1e-14)
    panel = fit_panel_with_errors(Points(A_W, MOISTURE, u_a_w=U_A_W), ("oswin",))
    assert panel["oswin"].chi_square == pytest.approx(2 * best.cost, rel=1e-8)
    assert list(panel["oswin"].parameters.values()) == pytest.approx(best.x, rel=1e-5)


def test_models_with_too_few_points_are_named() -> None:
    panel = fit_panel_with_errors(Points(A_W[:3], MOISTURE[:3], u_a_w=U_A_W[:3], u_moisture=U_MOISTURE[:3]))
    assert "peleg" in panel.too_few
    assert "peleg" not in [fit.model.key for fit in panel.fits]
    assert len(panel.fits) == len(panel.keys) == 10
    assert sum(panel.weights.values()) in (0.0, pytest.approx(1.0))

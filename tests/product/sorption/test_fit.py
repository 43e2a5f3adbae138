"""Fits against exact targets, printed constants, and a plain slow twin."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from isohume.foundation.quantity import InputError, RangeError, UnknownNameError
from isohume.product.sorption import PANEL, Points, fit, fit_panel

A_W = np.array([0.113, 0.225, 0.328, 0.432, 0.529, 0.576, 0.689, 0.753, 0.843, 0.902])


def gab(a, m, c, k):
    return m * c * k * a / ((1 - k * a) * (1 - k * a + c * k * a))


def noisy(n=12, seed=1, noise=0.001):
    rng = np.random.default_rng(seed)
    a = np.linspace(0.08, 0.93, n)
    return a, gab(a, 0.0658, 12.4, 0.93) + noise * rng.standard_normal(n)


@settings(derandomize=True, max_examples=60)
@given(st.floats(0.02, 0.15), st.floats(1.0, 80.0), st.floats(0.5, 0.995))
def test_noiseless_points_give_their_gab_back(monolayer, c, k):
    found = fit(Points(A_W, gab(A_W, monolayer, c, k)), "gab")
    assert found.parameters == pytest.approx({"monolayer_db": monolayer, "c": c, "k": k}, rel=1e-6)
    assert found.mrd_percent < 1e-6


@pytest.mark.parametrize("key", PANEL)
def test_twin_of_scipy_agrees_in_optimum_and_covariance(key):
    """scipy least squares on the same curve from our optimum: it must not move, and agree in (J'J)^-1."""
    a, x = noisy(14, seed=3, noise=0.003)
    found = fit(Points(a, x), key)
    inside = found.points
    curve = found.model

    def off(p):
        from isohume.product.sorption.catalogue import place_of
        from isohume.product.sorption.evaluation import curve_of

        return curve_of(place_of(curve.key), inside.a_w, inside.temperature_k, np.asarray(p))[0] - inside.moisture_db

    scale = np.maximum(np.abs(found.values), 1e-3)
    twin = least_squares(off, found.values, x_scale=scale, xtol=1e-15, ftol=1e-15, gtol=1e-15, jac="3-point")
    assert twin.x == pytest.approx(found.values, rel=2e-5)
    information = (twin.jac / 1.0).T @ twin.jac
    covariance = np.linalg.inv(information) * found.sse / found.dof
    spread = np.sqrt(np.diag(covariance))
    assert found.covariance / np.outer(spread, spread) == pytest.approx(covariance / np.outer(spread, spread), abs=2e-4)


def test_figures_are_those_of_their_definitions():
    a, x = noisy()
    found = fit(Points(a, x), "oswin")
    off = x - found.moisture(a)
    n, free = 12, 3  # two parameters and the variance (Burnham and Anderson 2002)
    assert found.sse == pytest.approx(np.sum(off**2), rel=1e-12)
    assert found.standard_error == pytest.approx(np.sqrt(np.sum(off**2) / (n - 2)), rel=1e-12)
    assert found.mrd_percent == pytest.approx(100 * np.mean(np.abs(off / x)), rel=1e-12)
    criterion = n * np.log(np.sum(off**2) / n) + 2 * free + 2 * free * (free + 1) / (n - free - 1)
    assert found.aicc == pytest.approx(criterion)
    assert found.residuals == pytest.approx(off, abs=1e-15)


def test_weights_are_one_over_u_squared():
    a, x = noisy()
    u = np.linspace(0.001, 0.004, 12)
    found = fit(Points(a, x, u_moisture=u), "gab")
    twin = least_squares(
        lambda p: (gab(a, *p) - x) / u, (0.06, 10.0, 0.9), x_scale=(0.06, 10, 0.9), xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    assert found.values == pytest.approx(twin.x, rel=1e-6)
    assert found.chi_square == pytest.approx(2 * twin.cost, rel=1e-10)


def test_known_uncertainties_widen_but_never_narrow():
    a, x = noisy(noise=0.001)
    wide = fit(Points(a, x, u_moisture=np.array([0.01])), "gab")
    plain = fit(Points(a, x), "gab")
    close = fit(Points(a, x, u_moisture=np.array([0.0001])), "gab")
    assert wide.u["k"] > 5 * plain.u["k"]  # the stated 0.01 is kept although the points scatter by 0.001
    assert close.u["k"] == pytest.approx(plain.u["k"], rel=1e-6)
    assert any("scatter" in each for each in close.warnings)


def test_duplicates_count_twice():
    a, x = noisy()
    twice = fit(Points(np.tile(a, 2), np.concatenate([x, x + 0.001])), "gab")
    means = fit(Points(a, x + 0.0005), "gab")
    assert twice.values == pytest.approx(means.values, rel=1e-6)
    assert twice.n == 24


def test_bet_uses_its_own_range_and_is_not_weighed():
    a, x = noisy(20)
    panel = fit_panel(Points(a, x))
    bet = panel["BET"]
    assert bet.n == int((a <= 0.5).sum())
    assert panel.weights["bet"] == 0.0
    assert any("left out" in each for each in bet.warnings)
    # Timmermann et al. 2001: BET's monolayer is below GAB's, its C above
    assert bet.parameters["monolayer_db"] < panel["gab"].parameters["monolayer_db"]
    assert bet.parameters["c"] > panel["gab"].parameters["c"]


def test_an_optimum_at_a_bound_is_said_with_the_free_optimum_and_its_pole():
    a = np.linspace(0.05, 0.75, 12)
    found = fit(Points(a, gab(a, 0.05, 8.0, 1.12)), "gab")
    assert found.parameters["k"] == 1.0
    assert found.unconstrained == pytest.approx({"monolayer_db": 0.05, "c": 8.0, "k": 1.12}, rel=1e-6)
    assert found.u["k"] is None
    assert any("pole at a_w 0.8929" in each for each in found.warnings)


def test_weights_sum_to_one_and_the_true_model_leads():
    panel = fit_panel(Points(*noisy(30)))
    assert sum(panel.weights.values()) == pytest.approx(1.0)
    assert max(panel.weights, key=panel.weights.get) == "gab"
    # with nearly all of the weight on GAB, the average is GAB's curve
    assert panel.moisture(0.5) == pytest.approx(panel["gab"].moisture(0.5), rel=1e-3)


def test_inverse_comes_back_for_every_model():
    for each in fit_panel(Points(*noisy())).fits:
        low, high = each.valid_a_w
        asked = np.linspace(low, high, 23)
        assert each.water_activity(each.moisture(asked)) == pytest.approx(asked, abs=1e-12)


def test_beyond_the_fitted_range_is_refused_with_the_range():
    found = fit(Points(*noisy()), "gab")
    with pytest.raises(RangeError, match=r"0\.08 to 0\.93"):
        found.moisture(0.97)
    with pytest.raises(RangeError, match="moisture_db"):
        found.water_activity(0.9)


def test_too_few_points_and_unknown_names_are_refused():
    with pytest.raises(InputError, match="3 or more"):
        fit(Points(A_W[:2], np.array([0.05, 0.07])), "gab")
    with pytest.raises(UnknownNameError, match="gab"):
        fit(Points(*noisy()), "gabb")
    with pytest.raises(InputError, match="moisture, a_w or both"):
        fit(Points(*noisy()), "gab", residual="x")


def test_a_panel_of_few_points_names_the_models_it_left_out():
    panel = fit_panel(Points(np.array([0.2, 0.5, 0.8]), np.array([0.05, 0.1, 0.2])))
    assert "peleg" in panel.too_few
    assert [each.model.key for each in panel.fits] == [key for key in PANEL if key not in panel.too_few]
    with pytest.raises(UnknownNameError):
        panel["peleg"]

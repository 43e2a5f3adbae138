"""An isotherm in use: intervals against their definitions and against simulation."""

import numpy as np
import pytest
from scipy import stats

from isohume.foundation.quantity import InputError, RangeError
from isohume.product.sorption import (
    Points,
    bootstrap,
    fit,
    fit_panel,
    moisture_at,
    moisture_limit,
    profile_interval,
    water_activity_at,
)


def gab(a, m, c, k):
    return m * c * k * a / ((1 - k * a) * (1 - k * a + c * k * a))


@pytest.fixture(scope="module")
def found():
    rng = np.random.default_rng(5)
    a = np.linspace(0.08, 0.93, 12)
    return fit(Points(a, gab(a, 0.0658, 12.4, 0.93) + 0.001 * rng.standard_normal(12)), "gab")


def test_interval_of_the_curve_is_students_t_times_the_propagated_u(found):
    m, c, k = found.values
    step = 1e-6
    slopes = [
        (gab(0.6, *(found.values * (1 + step * e))) - gab(0.6, *(found.values * (1 - step * e))))
        / (2 * step * found.values[i])
        for i, e in enumerate(np.eye(3))
    ]
    u = np.sqrt(np.array(slopes) @ found.covariance @ slopes)
    interval = moisture_at(found, 0.6, level=0.90)
    assert interval.value == pytest.approx(gab(0.6, m, c, k), rel=1e-12)
    assert interval.high - interval.value == pytest.approx(stats.t.ppf(0.95, 9) * u, rel=1e-6)
    assert interval.value - interval.low == pytest.approx(interval.high - interval.value)


def test_a_w_at_a_moisture_carries_the_uncertainty_of_the_moisture(found):
    plain = water_activity_at(found, 0.12)
    wide = water_activity_at(found, 0.12, u_moisture=0.004)
    assert gab(plain.value, *found.values) == pytest.approx(0.12, rel=1e-12)
    u_plain, u_wide = (each.high - each.value for each in (plain, wide))
    expected = stats.t.ppf(0.975, 9) * 0.004 / found.slope(plain.value)
    assert u_wide == pytest.approx(np.hypot(u_plain, expected), rel=1e-9)


def test_the_limit_keeps_a_w_below_its_limit_with_the_assurance_asked_for():
    """Many laboratories measure the same isotherm and set a limit at 95 %: the true a_w at it exceeds 0.60 in 5 %."""
    rng = np.random.default_rng(11)
    a = np.linspace(0.08, 0.93, 12)
    truth = gab(a, 0.0658, 12.4, 0.93)
    above = 0
    for _ in range(600):
        limit = moisture_limit(fit(Points(a, truth + 0.002 * rng.standard_normal(12)), "gab"), 0.60, assurance=0.95)
        above += limit.low > gab(0.60, 0.0658, 12.4, 0.93)
    assert above / 600 == pytest.approx(0.05, abs=0.027)  # three standard errors of a share of 600


def test_a_guard_and_a_moisture_uncertainty_lower_the_limit(found):
    plain = moisture_limit(found, 0.60)
    assert moisture_limit(found, 0.60, guard=0.01).value == pytest.approx(found.moisture(0.59))
    assert moisture_limit(found, 0.60, u_moisture=0.003).low < plain.low - 1.5 * 0.003
    assert moisture_limit(found, 0.60, assurance=0.99).low < plain.low


def test_refusals_name_what_is_allowed(found):
    with pytest.raises(RangeError, match="the fitted range"):
        moisture_at(found, 0.97)
    with pytest.raises(InputError, match=r"above 0\.5"):
        moisture_limit(found, 0.6, assurance=0.4)
    with pytest.raises(InputError, match="guard"):
        moisture_limit(found, 0.6, guard=-0.1)
    with pytest.raises(InputError, match="level"):
        moisture_at(found, 0.6, level=1.0)
    three = fit(Points([0.2, 0.5, 0.8], gab(np.array([0.2, 0.5, 0.8]), 0.06, 12, 0.9)), "gab")
    with pytest.raises(InputError, match="more points than the 3 parameters"):
        moisture_at(three, 0.5)


def test_beyond_the_range_only_by_name_and_with_a_flag(found):
    flagged = moisture_at(found, 0.97, beyond="flag")
    assert flagged.value == pytest.approx(gab(0.97, *found.values))
    assert flagged.flags == ("extrapolated: a_w 0.97 lies outside the fitted range 0.08 to 0.93",)
    with pytest.raises(RangeError):
        moisture_at(found, 0.999, beyond="flag")  # outside the model itself


def test_profile_of_a_straight_parameter_is_its_t_interval():
    """Iglesias and Chirife's equation is linear: the profile is exactly the interval of the straight line."""
    a = np.linspace(0.1, 0.9, 10)
    x = 0.03 + 0.04 * a / (1 - a) + 0.002 * np.random.default_rng(2).standard_normal(10)
    found = fit(Points(a, x), "iglesias_chirife")
    line = stats.linregress(a / (1 - a), x)
    half = stats.t.ppf(0.975, 8) * line.stderr
    interval = profile_interval(found, "b")
    assert (interval.low, interval.high) == pytest.approx((line.slope - half, line.slope + half), rel=1e-6)


def test_profile_ends_where_the_sum_of_squares_reaches_its_bound(found):
    from scipy.optimize import least_squares

    interval = profile_interval(found, "c")
    bound = found.chi_square * (1 + stats.t.ppf(0.975, 9) ** 2 / 9)
    for end in (interval.low, interval.high):
        held = least_squares(
            lambda p, c=end: gab(found.points.a_w, p[0], c, p[1]) - found.points.moisture_db,
            (0.066, 0.93), x_scale=(0.06, 0.9), xtol=1e-15, ftol=1e-15, gtol=1e-15,
        )  # fmt: skip
        assert 2 * held.cost == pytest.approx(bound, rel=1e-6)
    assert interval.high - interval.value > interval.value - interval.low  # C is skewed, as it should be


def test_bootstrap_spreads_as_the_covariance_says_and_repeats(found):
    many = bootstrap(found, 4000, seed=3)
    spread = many.parameters["gab"].std(axis=0)
    assert spread == pytest.approx(np.sqrt(np.diag(found.covariance)), rel=0.06)
    assert np.array_equal(many.parameters["gab"], bootstrap(found, 4000, seed=3).parameters["gab"])
    low, high = many.band([0.3, 0.6, 0.9])
    for at, one, other in zip((0.3, 0.6, 0.9), low, high, strict=True):
        interval = moisture_at(found, at)
        assert (other - one) == pytest.approx(interval.high - interval.low, rel=0.12)


def test_a_replicate_is_the_cold_fit_of_its_points(found):
    """The slow twin: the same resampled points fitted from the start by the plain fit."""
    few = bootstrap(found, 25, seed=8)
    errors = found.residuals - found.residuals.mean()
    errors *= np.sqrt(12 / 9)
    order = np.random.default_rng(8).integers(0, 12, (25, 12))
    curve = found.moisture(found.points.a_w)
    for row in range(25):
        cold = fit(Points(found.points.a_w, curve + errors[order[row]]), "gab")
        assert few.parameters["gab"][row] == pytest.approx(cold.values, rel=1e-4)


def test_bootstrap_of_a_panel_holds_every_model_and_refuses_nonsense(found):
    panel = fit_panel(found.points)
    assert set(bootstrap(panel, 10).parameters) == {each.model.key for each in panel.fits}
    with pytest.raises(InputError, match="replicates"):
        bootstrap(found, 0)

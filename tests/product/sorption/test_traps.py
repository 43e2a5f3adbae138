"""What must not pass silently: mixed points, wrong temperatures, forms that the points leave open, curves that fall."""

import numpy as np
import pytest

from isohume.foundation.quantity import InputError, RangeError
from isohume.product.sorption import (
    MODELS,
    Points,
    bootstrap,
    choose,
    fit,
    fit_panel,
    form_spread,
    model_named,
    moisture_at,
    moisture_at_chosen,
    moisture_limit,
    near_models,
    profile_interval,
    water_activity_at,
)

A_W = np.array([0.11, 0.22, 0.33, 0.43, 0.53, 0.65, 0.75, 0.84, 0.90])


def gab(a, m=0.06, c=12.0, k=0.93):
    return m * c * k * a / ((1 - k * a) * (1 - k * a + c * k * a))


def noisy(sd=0.001, seed=4, a=A_W, **more):
    return Points(a, gab(a) + sd * np.random.default_rng(seed).standard_normal(a.size), **more)


def test_a_limit_at_a_temperature_that_was_not_measured_is_refused():
    cold = fit(noisy(temperature_c=20.0), "gab")
    with pytest.raises(RangeError, match="temperature_c: read 45"):
        moisture_limit(cold, 0.65, temperature_c=45.0)
    assert moisture_limit(cold, 0.65, temperature_c=20.5).value == moisture_limit(cold, 0.65).value
    with pytest.raises(InputError, match="state no temperature"):
        moisture_limit(fit(noisy(), "gab"), 0.65, temperature_c=20.0)
    with pytest.raises(InputError, match="finite"):
        cold.moisture(0.5, float("nan"))


def several():
    celsius = np.repeat([10.0, 25.0, 40.0], A_W.size)
    a = np.tile(A_W, 3)
    return Points(a, gab(a, m=0.07 - 0.0005 * celsius), temperature_c=celsius)


def test_a_model_with_temperature_speaks_of_the_temperatures_it_saw():
    found = fit(several(), "modified_oswin")
    assert found.moisture(0.5, 40.5) < found.moisture(0.5, 25.0)
    with pytest.raises(RangeError, match=r"9 to 41 degC"):
        found.moisture(0.5, 90.0)
    with pytest.raises(InputError, match="the points have several"):
        bootstrap(found, 20).curves([0.5])
    with pytest.raises(InputError, match="a temperature a point"):
        fit(noisy(), "modified_oswin")


def test_points_of_two_temperatures_or_directions_set_no_limit():
    mixed = fit(several(), "gab")
    assert any("10 to 40 degC together" in each for each in mixed.warnings)
    with pytest.raises(InputError, match="the points of one temperature"):
        moisture_limit(mixed, 0.6)
    both = fit(noisy(direction=("adsorption",) * 5 + ("desorption",) * 4), "gab")
    assert any("two curves" in each for each in both.warnings)
    with pytest.raises(InputError, match="the points of one direction"):
        moisture_at(both, 0.6)


@pytest.mark.parametrize("levels", [(0.3, 0.7), (0.3, 0.5, 0.7), (0.5,)])
def test_repeats_at_few_a_w_are_no_isotherm(levels):
    a = np.repeat(levels, 6)
    found = choose(fit_panel(noisy(a=a)))
    assert found.recommended is None
    assert f"{len(levels)} different a_w only" in found.reasons[0]


def test_equal_moistures_are_no_isotherm():
    found = choose(fit_panel(Points(A_W, np.full(A_W.size, 0.1))))
    assert found.recommended is None


def test_one_point_beyond_gabs_range_does_not_take_its_weight_away():
    a = np.append(A_W, 0.995)
    panel = fit_panel(Points(a, np.append(gab(A_W), 1.5)))
    assert panel.beyond == 1
    assert panel.weights["gab"] == pytest.approx(1.0)
    assert panel.moisture(0.6) == pytest.approx(gab(0.6), rel=1e-6)
    assert choose(panel).recommended == "GAB"


def test_what_the_choice_leaves_open_widens_the_interval():
    panel = fit_panel(noisy(sd=0.004, seed=9))
    choice = choose(panel)
    best, *others = near_models(panel, choice)
    assert best.model.name == choice.recommended
    assert others
    furthest = max(abs(each.moisture(0.6) - best.moisture(0.6)) for each in others)
    assert form_spread(panel, choice, 0.6)[0] == pytest.approx(furthest)
    plain, wide = moisture_at(best, 0.6), moisture_at_chosen(panel, choice, 0.6)
    assert wide.value == plain.value
    assert wide.high - wide.low > plain.high - plain.low
    assert others[0].model.name in wide.flags[-1]


def test_the_widened_interval_holds_the_truth_where_the_points_leave_the_form_open():
    """Of 200 laboratories with nine scattered points, the low end of the recommended model lies too high in few."""
    rng, asked, above, chosen = np.random.default_rng(3), 0.65, 0, 0
    for _ in range(200):
        panel = fit_panel(Points(A_W, gab(A_W) + 0.004 * rng.standard_normal(A_W.size)))
        choice = choose(panel)
        if choice.recommended is None:
            continue
        chosen += 1
        above += moisture_at_chosen(panel, choice, asked, level=0.90).low > gab(asked)
    assert chosen > 100
    assert above / chosen < 0.10  # 5 % promised one-sided; without the widening it is near 20 %


def test_falling_and_flat_curves_set_no_limit():
    falling = fit(Points(A_W, 0.3 - 0.2 * A_W), "linear")
    with pytest.raises(InputError, match="rises up to the limit"):
        moisture_limit(falling, 0.6)
    with pytest.raises(InputError, match="does not rise"):
        falling.water_activity(0.2)


def test_an_interval_that_reaches_below_zero_says_so_and_sets_no_limit():
    wild = fit(Points([0.2, 0.4, 0.6, 0.8], [0.02, 0.2, 0.02, 0.3]), "gab")
    assert any("below zero" in each for each in moisture_at(wild, 0.5).flags)
    with pytest.raises(InputError, match="a moisture above zero"):
        moisture_limit(wild, 0.5)


def test_a_held_parameter_is_named_with_the_interval():
    a = np.linspace(0.05, 0.75, 12)
    held = fit(Points(a, gab(a, k=1.12) * (1 + 0.01 * np.random.default_rng(1).standard_normal(12))), "gab")
    assert any("k held" in each for each in moisture_at(held, 0.5).flags)
    assert any("k held" in each for each in moisture_limit(held, 0.5).flags)


@pytest.mark.parametrize("bad", [-1.0, float("nan"), float("inf")])
def test_an_uncertainty_that_is_none_is_refused(bad):
    found = fit(noisy(), "gab")
    with pytest.raises(InputError, match="u_moisture"):
        water_activity_at(found, 0.1, u_moisture=bad)
    with pytest.raises(InputError, match="u_moisture"):
        moisture_limit(found, 0.6, u_moisture=bad)
    with pytest.raises(InputError, match="level"):
        profile_interval(found, "k", level=0.0)


def test_every_model_is_known_by_its_name_and_its_key():
    for key, model in MODELS.items():
        assert model_named(model.name) is model
        assert model_named(key) is model
        assert model_named(key.replace("_", "-").upper()) is model


def test_stated_uncertainties_larger_than_the_scatter_widen_the_bootstrap_too():
    found = fit(noisy(u_moisture=np.array([0.01])), "gab")
    low, high = bootstrap(found, 2000).band([0.6])
    interval = moisture_at(found, 0.6)
    assert high[0] - low[0] == pytest.approx(interval.high - interval.low, rel=0.25)
    with pytest.raises(InputError, match="a fit in moisture"):
        bootstrap(fit(noisy(u_a_w=0.003), "gab", residual="a_w"))


def test_arrays_keep_their_shape():
    found = fit(noisy(), "gab")
    asked = np.array([[0.2, 0.4], [0.5, 0.7]])
    assert found.moisture(asked).shape == (2, 2)
    assert found.water_activity(found.moisture(asked)) == pytest.approx(asked)


def test_a_pole_far_below_a_w_one_is_found_where_it_stands():
    a = np.linspace(0.001, 0.02, 14)
    found = fit(Points(a, gab(a, m=0.1, c=30.0, k=40.0)), "gab")
    assert found.unconstrained == pytest.approx({"monolayer_db": 0.1, "c": 30.0, "k": 40.0}, rel=1e-5)
    assert any("pole at a_w 0.0250" in each for each in found.warnings)

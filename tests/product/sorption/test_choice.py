"""The choice among models: its pieces against hand and brute force, and what it says of real and made-up sets."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from numpy.typing import NDArray

from isohume.outlets.validate.check import read_table
from isohume.product.sorption import Points, choose, fit, fit_panel
from isohume.product.sorption.choice import Choice
from isohume.product.sorption.residual_pattern import chance_of_so_few_runs, pattern_of, scatter_of
from isohume.product.sorption.shape import relative_percent, shape_of, sharpest_bend

Array = NDArray[np.float64]


def gab(a: Array, monolayer: float, c: float, k: float) -> Array:
    u = k * a
    return monolayer * c * u / ((1.0 - u) * (1.0 - u + c * u))


def points_of(set_id: str) -> Points:
    rows = [row for row in read_table("measured_points") if row["set_id"] == set_id]
    return Points([float(row["aw"]) for row in rows], [0.01 * float(row["moisture_db_pct"]) for row in rows])


def chosen(points: Points) -> Choice:
    return choose(fit_panel(points))


# the runs test, exact


@pytest.mark.parametrize(("above", "below"), [(1, 1), (2, 3), (4, 4), (5, 2), (6, 5)])
def test_chance_of_runs_is_the_count_of_all_orders(above: int, below: int) -> None:
    orders = set(itertools.permutations([1] * above + [0] * below)) if above + below < 9 else None
    if orders is None:  # the same set, made without the repetitions
        orders = {
            tuple(1 if place in chosen_places else 0 for place in range(above + below))
            for chosen_places in itertools.combinations(range(above + below), above)
        }
    runs = [1 + sum(x != y for x, y in itertools.pairwise(order)) for order in orders]
    for most in range(1, above + below + 1):
        expected = sum(one <= most for one in runs) / len(runs)
        assert chance_of_so_few_runs(most, above, below) == pytest.approx(expected, abs=1e-12)


def test_runs_of_one_sign_only_say_nothing() -> None:
    assert chance_of_so_few_runs(1, 7, 0) == 1.0


# the residual pattern


def test_a_bow_is_a_pattern_and_says_where_the_curve_lies() -> None:
    a = np.linspace(0.1, 0.9, 15)
    bow = (a - 0.5) ** 2 - 0.05
    found = pattern_of(a, bow)
    assert found.clear
    assert found.runs == 3
    assert (found.above, found.below) == (8, 7)
    assert found.chance < 0.01
    assert "too low at low a_w, too high in the middle, too low at high a_w" in found.words


def test_the_order_of_the_points_does_not_matter() -> None:
    a, e = np.linspace(0.1, 0.9, 12), np.sin(np.arange(12.0))
    turned = np.random.default_rng(3).permutation(12)
    assert pattern_of(a, e) == pattern_of(a[turned], e[turned])


def test_alternating_residuals_have_no_pattern() -> None:
    found = pattern_of(np.linspace(0.1, 0.9, 12), np.array([1.0, -1.0] * 6))
    assert not found.clear
    assert found.runs == 12
    assert found.chance == pytest.approx(1.0)
    assert found.lag == pytest.approx(-11.0 / 12.0)


def test_noise_seldom_passes_for_a_pattern() -> None:
    rng = np.random.default_rng(11)
    a = np.linspace(0.1, 0.9, 20)
    clear = sum(pattern_of(a, rng.standard_normal(20)).clear for _ in range(2000))
    assert clear <= 0.02 * 2000


def test_scatter_is_the_standard_deviation_of_points_about_a_smooth_line() -> None:
    rng = np.random.default_rng(7)
    a = np.sort(rng.uniform(0.0, 1.0, 4000))
    assert scatter_of(a, 3.0 * a + 0.01 * rng.standard_normal(4000)) == pytest.approx(0.01, rel=0.05)
    assert math.isnan(scatter_of(a[:4], a[:4]))


# the shape


@pytest.mark.parametrize("c", [0.8, 4.0, 40.0])
@pytest.mark.parametrize("k", [0.3, 0.8, 0.98])
def test_curves_of_gab_have_no_step(c: float, k: float) -> None:
    a = np.linspace(0.05, 0.93, 18)
    assert shape_of(a, gab(a, 0.06, c, k)).kind == "plain"


@pytest.mark.parametrize("centre", [0.2, 0.5, 0.8])
def test_a_step_is_found_where_it_is(centre: float) -> None:
    a = np.linspace(0.02, 0.98, 25)
    found = shape_of(a, 0.02 * a + 0.3 / (1.0 + np.exp(-(a - centre) / 0.02)))
    assert found.kind == "step"
    assert found.step_a_w is not None
    low, high = found.step_a_w
    assert low <= centre <= high
    assert high - low < 0.1
    assert f"between a_w {low:.2g} and {high:.2g}" in found.words


def test_moisture_that_falls_is_named_with_its_places() -> None:
    a = np.linspace(0.1, 0.9, 9)
    found = shape_of(a, np.array([0.05, 0.06, 0.07, 0.20, 0.21, 0.08, 0.09, 0.10, 0.11]))
    assert found.kind == "not rising"
    assert "falls from 0.21 at a_w 0.50 to 0.08 at a_w 0.60" in found.words


def test_two_ways_in_one_set_are_told_apart_by_their_order() -> None:
    a = np.linspace(0.1, 0.9, 9)
    up = gab(a, 0.06, 10.0, 0.85)
    whole = np.concatenate([a, a[-2::-1]]), np.concatenate([up, up[-2::-1] * 1.15])
    assert shape_of(*whole).kind == "two branches"
    order = np.argsort(whole[0], kind="stable")
    assert shape_of(whole[0][order], whole[1][order]).kind != "two branches"


def test_the_sharpest_bend_is_the_knee() -> None:
    a = np.linspace(0.1, 0.9, 17)
    found = sharpest_bend(a, np.minimum(a, 0.4))
    assert found is not None
    assert found[0] == pytest.approx(0.4)
    assert found[1] == pytest.approx(1.0)
    assert found[2] == pytest.approx(0.0, abs=1e-6)


def test_deviation_counts_points_with_moisture_only() -> None:
    assert relative_percent(np.array([0.0, 0.1, 0.2]), np.array([0.01, 0.11, 0.18])) == pytest.approx(10.0)
    assert relative_percent(np.array([0.0]), np.array([0.1])) == math.inf


# recommendations


@pytest.mark.parametrize(
    ("set_id", "name"), [("pasta_40", "GAB"), ("pasta_60", "Oswin"), ("pasta_70", "Oswin"), ("pasta_90", "Lewicki")]
)
def test_pasta_is_given_a_model(set_id: str, name: str) -> None:
    panel = fit_panel(points_of(set_id))
    found = choose(panel)
    assert found.recommended == name
    # least AICc of those without a fault, recomputed
    free = {fit.model.name: fit.aicc for fit in panel.fits if not found.faults[fit.model.key]}
    assert min(free, key=lambda one: free[one]) == name
    assert f"{name} has the least AICc ({free[name]:.1f})" in found.reasons[0]
    assert f"{panel[name].mrd_percent:.1f} %" in found.reasons[1]
    for other in panel.fits:
        if other.aicc < panel[name].aicc and not other.left_out:
            assert any(text.startswith(f"{other.model.name} has a lower AICc") for text in found.reasons)


def test_exact_points_of_gab_are_given_gab() -> None:
    a = np.array([0.113, 0.225, 0.328, 0.432, 0.529, 0.576, 0.689, 0.753, 0.843, 0.902])
    found = chosen(Points(a, gab(a, 0.0658, 12.4, 0.93)))
    assert found.recommended == "GAB"
    assert not found.patterns["gab"].clear  # what is left is rounding


@pytest.mark.parametrize("noise", [0.01, 0.03, 0.05])
def test_noisy_food_is_given_a_model(noise: float) -> None:
    rng = np.random.default_rng(20)
    none = 0
    for number in range(100):
        n = (6, 8, 10, 12, 20)[number % 5]
        monolayer, c, k = rng.uniform(0.03, 0.12), math.exp(rng.uniform(0.7, 4.1)), rng.uniform(0.7, 0.98)
        a = np.sort(rng.uniform(0.08, 0.93, n)) if number % 2 else np.linspace(0.1, 0.92, n)
        none += chosen(Points(a, gab(a, monolayer, c, k) * (1.0 + noise * rng.standard_normal(n)))).recommended is None
    assert none <= 3


def test_a_model_with_left_out_points_or_at_an_end_is_no_candidate() -> None:
    panel = fit_panel(points_of("pasta_70"))
    found = choose(panel)
    assert any("5 points lie beyond" in text or "points lie beyond" in text for text in found.faults["bet"])
    held = [fit.model.key for fit in panel.fits if fit.unconstrained is not None]
    assert held
    for key in held:
        assert any("end of the admissible range" in text for text in found.faults[key])


def test_too_few_points_are_given_none() -> None:
    a = np.array([0.2, 0.4, 0.6, 0.8])
    found = chosen(Points(a, gab(a, 0.06, 10.0, 0.9)))
    assert found.recommended is None
    assert found.reasons == ("too few points: 4, a choice among models wants 5 or more",)


def test_two_directions_are_given_none() -> None:
    a = np.linspace(0.1, 0.9, 9)
    direction = ("adsorption",) * 5 + ("desorption",) * 4
    found = chosen(Points(a, gab(a, 0.06, 10.0, 0.9), direction=direction))
    assert found.recommended is None
    assert "one direction" in found.reasons[0]


def test_where_every_model_is_off_each_is_named_with_what_speaks_against_it() -> None:
    found = chosen(points_of("silica03_100"))
    assert found.recommended is None
    assert found.reasons[0] == "no model describes these points without a fault"
    assert len(found.reasons) == 12
    assert any(text.startswith("Smith: mean relative deviation") for text in found.reasons)


def test_a_sharp_knee_that_no_model_follows_is_given_none() -> None:
    """A step that ends where the plateau begins: the adsorption of the aluminophosphate at 70 degC."""
    whole = points_of("aqsoa_70")
    found = chosen(whole.of(np.arange(10)))
    assert found.recommended is None
    assert found.reasons[0].startswith("no model has the form of these points: the best, GAB")
    assert "a step that ends at a_w 0.2" in found.reasons[1]


def test_the_whole_set_with_its_way_back_is_given_none() -> None:
    found = chosen(points_of("aqsoa_30"))
    assert found.recommended is None
    assert "come back on another way" in found.reasons[0]
    assert "on the way up the points make a step (S-shaped): moisture jumps between a_w 0.0" in found.reasons[1]


def test_two_ways_whose_order_was_lost_are_given_none() -> None:
    whole = points_of("aqsoa_30")
    found = chosen(whole.of(np.argsort(whole.a_w, kind="stable")))
    assert found.recommended is None
    assert any("misses the points by 12 % of their range of moisture" in text for text in found.faults["gab"])


def test_an_unusual_monolayer_is_a_caution_and_no_fault() -> None:
    a = np.linspace(0.1, 0.9, 12)
    found = chosen(Points(a, gab(a, 0.4, 12.0, 0.6)))
    assert found.recommended == "GAB"
    assert not found.faults["gab"]
    assert any(text.startswith("monolayer 0.4 kg/kg lies outside") for text in found.cautions)


def test_the_only_model_without_a_fault_is_called_that() -> None:
    a = np.linspace(0.1, 0.9, 11)
    noisy = gab(a, 0.06, 12.0, 0.95) * (1.0 + 0.01 * np.random.default_rng(2).standard_normal(11))
    found = choose(fit_panel(Points(a, noisy), ("gab", "chung_pfost")))
    free = [key for key, faults in found.faults.items() if not faults]
    assert free == ["gab"]
    assert found.reasons[0].startswith("GAB is the only model without a fault (AICc ")


def test_models_of_several_temperatures_are_chosen_from_too() -> None:
    a, celsius = np.tile(np.linspace(0.2, 0.85, 7), 3), np.repeat([15.0, 25.0, 40.0], 7)
    noise = np.random.default_rng(4).standard_normal(21)
    x = 0.01 * (12.0 - 0.06 * celsius) * (a / (1.0 - a)) ** 0.4 * (1.0 + 0.01 * noise)
    keys = ("modified_henderson", "modified_chung_pfost", "modified_oswin", "modified_halsey")
    found = choose(fit_panel(Points(a, x, temperature_c=celsius), keys))
    assert found.recommended == "Modified Oswin"


def test_stated_uncertainties_do_not_stand_in_the_way() -> None:
    a = np.linspace(0.1, 0.9, 11)
    x = gab(a, 0.06, 12.0, 0.9)
    noisy = x * (1.0 + 0.01 * np.random.default_rng(2).standard_normal(11))
    assert chosen(Points(a, noisy, u_moisture=0.01 * x)).recommended == "GAB"


# K above 1


@pytest.mark.parametrize("set_id", ["silica03_60", "zeolite_hisiv_40", "zeolite_hisiv_75", "carbon_sorbonorit4_60"])
def test_k_against_its_end_is_warned_of_with_its_pole(set_id: str) -> None:
    """Where a_w stays low nothing holds K below 1: a free fit puts a pole inside 0..1."""
    found = fit(points_of(set_id), "gab")
    assert found.parameters["k"] == 1.0
    assert found.u["k"] is None
    assert found.unconstrained is not None
    free = found.unconstrained["k"]
    assert free > 1.0
    pole = 1.0 / free
    assert found.points.a_w.max() < pole < 1.0
    assert any(f"GAB has a pole at a_w {pole:.4f}" in text for text in found.warnings)
    assert any(text.startswith("optimum at the end of the admissible range: k = 1") for text in found.warnings)

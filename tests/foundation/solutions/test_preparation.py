"""What to weigh, what was weighed, and how sure it makes the water activity."""

import math

import numpy as np
import pytest

from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.foundation.solutions import known_solutions, prepared, reference_value, slurry
from isohume.foundation.solutions.hydrates import hydrate_formula, weighed_as
from isohume.foundation.solutions.saturated import is_saturated_salt, saturated_range

WATER, MGCL2, NACL = 18.0153, 95.211, 58.4428  # g/mol


def plain_molality(salt_g, water_g, purity, salt_mass, waters):
    """The obvious way: moles of formula units, each with its waters, over all the water."""
    moles = purity * salt_g / (salt_mass + waters * WATER)
    return moles / ((water_g + moles * waters * WATER) / 1000)


def test_a_solution_from_the_balance():
    found = prepared("NaCl", 23.583, 100.0, 0.001, 1.0, 0.0)
    assert found.molality == pytest.approx(plain_molality(23.583, 100.0, 1.0, NACL, 0), rel=1e-6)
    assert found.a_w == pytest.approx(0.8500, abs=5e-5)
    assert found.weighed == "NaCl"


def test_one_percent_more_salt_lowers_0_85_by_0_0018():
    # the trade page of the project: +1 % salt at 0.85 = -0.0018
    right, wrong = (prepared("NaCl", 23.583 * f, 100.0, 0.001, 1.0, 0.0).a_w for f in (1.0, 1.01))
    assert wrong - right == pytest.approx(-0.0018, abs=0.0001)


def test_the_water_of_the_crystal_is_counted():
    found = prepared("MgCl2", 50.0, 100.0, 0.001, 0.99, 0.002, hydrate="MgCl2.6H2O")
    assert found.molality == pytest.approx(plain_molality(50.0, 100.0, 0.99, MGCL2, 6), rel=1e-5)
    assert found.weighed == "MgCl2.6H2O"
    assert found.a_w == reference_value("MgCl2", 25.0, found.molality).a_w


def test_the_budget_is_what_a_simulation_of_the_weighing_gives():
    found = prepared("MgCl2", 50.0, 100.0, 0.2, 0.98, 0.004, u_water_g=0.3, hydrate="hexahydrate")
    draws = np.random.default_rng(20261124)
    salt, water = draws.normal(50.0, 0.2, 4000), draws.normal(100.0, 0.3, 4000)
    purity = draws.normal(0.98, 0.004, 4000)
    molalities = [plain_molality(s, w, p, MGCL2, 6) for s, w, p in zip(salt, water, purity, strict=True)]
    spread = np.std([reference_value("MgCl2", 25.0, float(m)).a_w for m in molalities])
    weighing = math.hypot(*(part for name, part in found.budget if name not in ("model", "temperature")))
    # the standard error of a standard deviation from 4000 draws is 1.1 %
    assert weighing == pytest.approx(spread, rel=0.04)


def test_u_is_the_root_sum_of_squares_of_its_named_parts():
    found = prepared("NaCl", 20.0, 100.0, 0.01, 0.995, 0.003, temperature_c=22.0)
    names = [name for name, _ in found.budget]
    assert names == ["weighing of the solute", "weighing of the water", "purity", "model", "temperature"]
    assert found.u == pytest.approx(math.sqrt(sum(part**2 for _, part in found.budget)))
    assert all(part > 0 for _, part in found.budget)
    assert any("evaporation" in words for words in found.cautions)


def test_a_perfect_balance_leaves_the_model():
    found = prepared("NaCl", 20.0, 100.0, 0.0, 1.0, 0.0)
    assert found.u == pytest.approx(reference_value("NaCl", 25.0, found.molality).u)


def test_near_the_end_of_the_range_there_is_still_a_slope():
    grams = 6.0 * NACL / 10 * (1 - 1e-9)
    assert dict(prepared("NaCl", grams, 100.0, 0.01, 1.0, 0.001).budget)["purity"] > 1e-4


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"salt_g": 0.0}, "salt_g"),
        ({"water_g": -1.0}, "water_g"),
        ({"water_g": math.inf}, "water_g"),
        ({"u_balance_g": -0.1}, "u_balance_g"),
        ({"u_balance_g": math.nan}, "u_balance_g"),
        ({"purity": 1.01}, "purity"),
        ({"purity": 99.5}, "purity"),
        ({"purity": 0.0}, "purity"),
        ({"u_purity": -0.1}, "u_purity"),
        ({"salt_g": 40.0}, "molality"),
        ({"temperature_c": 35.0}, "temperature_c"),
        ({"hydrate": "LiCl.H2O"}, "hydrate"),
        ({"hydrate": "wet"}, "hydrate"),
    ],
)
def test_what_cannot_be_is_named(changes, field):
    weighed = {"salt_g": 20.0, "water_g": 100.0, "u_balance_g": 0.001, "purity": 0.999, "u_purity": 0.001}
    with pytest.raises(InputError) as error:
        prepared("NaCl", **(weighed | changes))
    assert error.value.field == field


@pytest.mark.parametrize(
    ("hydrate", "waters"),
    [
        ("K2CO3.1.5H2O", 1.5),
        ("sesquihydrate", 1.5),
        ("potassium carbonate sesquihydrate", 1.5),
        (None, 0.0),
        ("anhydrous", 0.0),
    ],
)
def test_hydrates_by_formula_and_name(hydrate, waters):
    assert weighed_as("K2CO3", hydrate).waters == waters


def test_a_monohydrate_is_written_without_a_one():
    assert hydrate_formula("LiCl", 1.0) == "LiCl.H2O"
    assert weighed_as("LiCl", "LiCl.H2O").waters == 1.0


def test_a_slurry_of_a_salt_without_hydrate():
    # 30 g of crystals and 20 g of solution with 36 g in 100 g of water
    recipe = slurry("NaCl", 50.0)
    assert recipe.salt_g == pytest.approx(30 + 20 * 36 / 136, abs=1e-9)
    assert recipe.water_g == pytest.approx(20 * 100 / 136, abs=1e-9)
    assert (recipe.hydrate, recipe.hydrate_g) == (None, None)
    assert (recipe.source, recipe.verified) == ("CRCHandbook", "memory")
    assert "visible crystals under a thin film" in recipe.rule


def test_a_slurry_from_a_hydrate_subtracts_the_water_of_the_crystal():
    recipe = slurry("magnesium chloride", 50.0)
    assert recipe.hydrate == "MgCl2.6H2O"
    assert recipe.hydrate_g == pytest.approx(recipe.salt_g * (MGCL2 + 6 * WATER) / MGCL2, rel=1e-6)
    crystal_water = recipe.hydrate_g - recipe.salt_g
    assert recipe.water_g == pytest.approx(recipe.water_with_anhydrous_g - crystal_water, rel=1e-9)


SLURRIES = [key for key in known_solutions() if is_saturated_salt(key) and key != "CsF"]


@pytest.mark.parametrize("key", SLURRIES)
def test_a_slurry_holds_more_salt_than_its_water_dissolves(key):
    recipe = slurry(key, 80.0, min(25.0, saturated_range(key).high))
    salt, water = recipe.salt_g, recipe.water_with_anhydrous_g
    per_g_water = recipe.solubility_g_per_100_g_water / 100
    # the trade page of the project: salt mass > solubility times all the water there is
    assert salt > per_g_water * water
    weighed = recipe.hydrate_g if recipe.hydrate_g is not None else salt
    assert weighed + recipe.water_g == pytest.approx(80.0)
    assert recipe.water_g > 0
    # what stays undissolved, by the balance of salt and water: 60 g in 100 g of slurry
    share = salt / weighed
    crystals = (salt - per_g_water * water) / (share - per_g_water * (1 - share))
    assert crystals == pytest.approx(0.6 * 80.0)


@pytest.mark.parametrize(
    ("solution", "total_g", "temperature_c", "field"),
    [
        ("NaCl", 0.0, 25.0, "total_g"),
        ("NaCl", math.nan, 25.0, "total_g"),
        ("CsF", 50.0, 25.0, "solution"),
        ("NaI", 50.0, 25.0, "solution"),
        ("sucrose", 50.0, 25.0, "solution"),
    ],
)
def test_a_slurry_that_cannot_be_is_named(solution, total_g, temperature_c, field):
    with pytest.raises(InputError) as error:
        slurry(solution, total_g, temperature_c)
    assert error.value.field == field


@pytest.mark.parametrize(("solution", "temperature_c"), [("NaCl", 40.0), ("Sr(NO3)2", 28.0)])
def test_a_slurry_only_where_solubility_and_value_hold(solution, temperature_c):
    with pytest.raises(RangeError, match="temperature_c"):
        slurry(solution, 50.0, temperature_c)

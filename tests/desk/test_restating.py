"""Restating at the specification's temperature: the trade example, its u, and every refusal."""

import math
from dataclasses import replace

import numpy as np
import pytest

from isohume.desk.heat_of_sorption import HeatOfSorption, heat_from_isotherms
from isohume.desk.restating import BenchReading, restate
from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.product.sorption import Points, fit
from isohume.product.sorption.heat import isosteric_heat

READING = BenchReading(0.850, 0.002, 25.0)
CITED = {"value_kj_mol": 3.0, "u_kj_mol": 0.5, "temperature_c": (15.0, 35.0), "source": "a table", "a_w": (0.6, 0.9)}


def heat(**changed):
    return HeatOfSorption(**{**CITED, **changed})


def test_the_trade_example():
    # row 22 of the trade's list: 25 to 30 degC raises 0.850 to 0.867 with 3 kJ/mol; 0.833 at 20 (F28)
    warm, cold = restate(READING, 30.0, heat()), restate(READING, 20.0, heat())
    assert warm.value == pytest.approx(0.867, abs=5e-4)
    assert cold.value == pytest.approx(0.833, abs=5e-4)
    assert not warm.refused
    assert warm.reading is READING  # kept as measured


def test_u_has_every_share():
    found = restate(BenchReading(0.850, 0.002, 25.0, u_temperature_c=0.3), 30.0, heat())
    draw = np.random.default_rng(5)
    n = 200_000
    a, q, t = draw.normal(0.85, 0.002, n), draw.normal(3.0, 0.5, n), draw.normal(25.0, 0.3, n)
    spread = (a * np.exp(q / 8.314462618e-3 * (1 / (t + 273.15) - 1 / 303.15))).std()
    assert found.u == pytest.approx(float(spread), rel=0.01)
    assert set(found.shares) == {"reading", "heat of sorption", "temperature of the reading"}
    assert math.hypot(*found.shares.values()) == pytest.approx(found.u)
    assert found.how.depends_most_on == "heat of sorption"
    assert found.how.inputs["q in kJ/mol"] == 3.0
    assert found.how.source == "a table"


def test_degrees_of_freedom_follow_the_weaker_input():
    assert restate(READING, 30.0, heat(dof=5.0)).dof < 20
    assert restate(READING, 30.0, heat()).dof == math.inf


def test_a_cited_heat_below_zero_restates_nothing_to_the_wrong_side():
    """A net heat of sorption is zero or more: warmer never states a lower a_w by a printed number."""
    found = restate(READING, 30.0, heat(value_kj_mol=-3.0))
    assert found.refused
    assert found.value is None
    assert "lies below 0 by more than 2 u" in found.reasons[0]
    near = restate(READING, 30.0, heat(value_kj_mol=-0.8))
    assert not near.refused
    assert "below 0: it states a lower a_w at a higher temperature" in near.reasons[0]
    assert near.value + 2 * near.u > 0.850
    assert not restate(READING, 30.0, heat(value_kj_mol=-3.0, origin="own isotherms")).refused


def test_no_heat_no_number():
    found = restate(READING, 30.0)
    assert found.refused
    assert (found.value, found.u, found.how) == (None, None, None)
    # the refusal shows how far a guess could be off: 0 and 10 kJ/mol
    assert "there is no default" in found.reasons[0]
    assert "0.850 to 0.908" in found.reasons[0]
    assert "beyond 1" in restate(BenchReading(0.97, 0.002, 20.0), 40.0).reasons[0]


@pytest.mark.parametrize(
    ("reading", "to_c", "with_heat", "said"),
    [
        (READING, 40.0, {}, "40 degC of the specification lies outside"),
        (BenchReading(0.85, 0.002, 10.0), 20.0, {}, "10 degC of the reading lies outside"),
        (BenchReading(0.40, 0.002, 25.0), 30.0, {}, "a_w 0.4 lies outside"),
        (BenchReading(0.85, 0.002, 25.0, moisture_db=0.30), 30.0, {"moisture_db": (0.1, 0.2)}, "moisture 0.3"),
        (READING, 30.0, {"a_w": None, "moisture_db": (0.1, 0.2)}, "cannot be told"),
        (READING, 30.0, {"a_w": None}, "cannot be told"),
        (READING, 30.0, {"u_kj_mol": None}, "no uncertainty"),
        (READING, 30.0, {"u_kj_mol": 0.0}, "no uncertainty"),
        (READING, 30.0, {"source": " "}, "no source"),
        (READING, 30.0, {"value_kj_mol": 46.5}, "heat of vaporisation"),
        (BenchReading(0.85, None, 25.0), 30.0, {}, "the reading has no uncertainty"),
        (BenchReading(0.85, 0.002, 25.0, product="cake"), 30.0, {"product": "bar"}, "of bar"),
        (BenchReading(0.85, 0.002, 25.0, formula_version="4"), 30.0, {"formula_version": "3"}, "recipe 3"),
        (BenchReading(0.85, 0.002, 25.0, is_reference_solution=True), 30.0, {}, "reference tables"),
        (BenchReading(0.99, 0.002, 15.0), 35.0, {"a_w": (0.6, 1.0), "value_kj_mol": 10.0}, "would not be a water"),
    ],
)
def test_every_refusal_has_its_reason(reading, to_c, with_heat, said):
    found = restate(reading, to_c, heat(**with_heat))
    assert found.refused
    assert any(said in each for each in found.reasons)


def test_at_the_same_temperature_it_is_the_reading():
    found = restate(READING, 25.0)
    assert (found.value, found.u) == (0.850, 0.002)
    assert "nothing to restate" in found.reasons[0]


def test_a_restated_value_says_what_it_does_not_replace():
    assert any("does not replace" in each for each in restate(READING, 30.0, heat()).reasons)


@pytest.mark.parametrize(
    "make",
    [
        lambda: restate(BenchReading(85.0, 0.002, 25.0), 30.0, heat()),
        lambda: restate(BenchReading(0.85, -0.002, 25.0), 30.0, heat()),
        lambda: restate(BenchReading(0.85, 0.002, 298.15), 30.0, heat()),
        lambda: restate(READING, 303.15, heat()),
        lambda: heat(value_kj_mol=math.nan),
        lambda: heat(u_kj_mol=-1.0),
        lambda: heat(origin="guess"),
        lambda: heat(a_w=(0.9, 0.6)),
    ],
)
def test_what_is_no_reading_or_no_heat_is_an_error(make):
    with pytest.raises(InputError):
        make()


A_W = np.linspace(0.1, 0.9, 12)


def chickpea(a_w, t):
    """Modified Oswin of chickpea (reference id I0312), dry basis."""
    return (11.2175 - 0.0615631 * t) / 100 * (a_w / (1 - a_w)) ** 0.49142


def isotherms(noise=0.005, temperatures=(15.0, 35.0), **named):
    draw = np.random.default_rng(3)
    return [
        fit(Points(A_W, chickpea(A_W, t) * (1 + noise * draw.normal(size=12)), temperature_c=t, **named), "oswin")
        for t in temperatures
    ]


def joint(noise=0.005):
    t, a = np.repeat([15.0, 25.0, 35.0], 12), np.tile(A_W, 3)
    x = chickpea(a, t) * (1 + noise * np.random.default_rng(3).normal(size=36))
    return fit(Points(a, x, temperature_c=t), "modified_oswin")


def test_the_products_own_isotherms_give_its_heat():
    # moisture 9.68 % has a_w 0.46875 at 15 and 0.53347 at 35 degC, 4.7738 kJ/mol (reference id I0326)
    for fits in (isotherms(noise=0.0), joint(noise=0.0)):
        found = heat_from_isotherms(fits, 0.46875, 15.0, 35.0)
        assert found.value_kj_mol == pytest.approx(4.7738, abs=0.002)
    restated = restate(BenchReading(0.46875, 0.002, 15.0), 35.0, heat_from_isotherms(joint(), 0.46875, 15.0, 35.0))
    assert restated.value == pytest.approx(0.53347, abs=2 * restated.u)
    assert "own isotherms" in restated.reasons[0]


def test_between_the_isotherms_temperatures_it_agrees_with_the_model():
    a_25 = 0.5
    x = chickpea(0.5, 25.0)
    found = heat_from_isotherms(isotherms(noise=0.0), a_25, 25.0, 30.0)
    y = (x / ((11.2175 - 0.0615631 * 30.0) / 100)) ** (1 / 0.49142)
    restated = restate(
        BenchReading(a_25, 0.002, 25.0), 30.0,
        HeatOfSorption(found.value_kj_mol, 0.1, found.temperature_c, found.source, a_w=found.a_w),
    )  # fmt: skip
    # the mean heat of 15-35 degC stands in for that of 25-30: with two isotherms nobody can know better
    assert restated.value == pytest.approx(y / (1 + y), abs=5e-4)
    exact = heat_from_isotherms(joint(noise=0.0), a_25, 25.0, 30.0)
    restated = restate(BenchReading(a_25, 0.002, 25.0), 30.0, replace(exact, u_kj_mol=0.1))
    assert restated.value == pytest.approx(y / (1 + y), abs=1e-6)  # a model of all temperatures does


def test_u_of_the_own_heat_holds_that_of_the_moisture():
    fits = isotherms()
    sharp, blunt = (heat_from_isotherms(fits, 0.47, 15.0, 35.0, u_a_w=u) for u in (0.0, 0.02))
    x = fits[0].moisture(0.47)
    assert sharp.u_kj_mol == pytest.approx(isosteric_heat(fits, x).rows[0].u_kj_mol)
    beside = isosteric_heat(fits, [fits[0].moisture(0.46), fits[0].moisture(0.48)]).rows
    by_a_w = (beside[1].value_kj_mol - beside[0].value_kj_mol) / 0.02
    assert blunt.u_kj_mol == pytest.approx(math.hypot(sharp.u_kj_mol, by_a_w * 0.02), rel=0.02)


def test_an_own_heat_is_of_one_reading():
    found = heat_from_isotherms(isotherms(), 0.47, 15.0, 35.0)
    assert restate(BenchReading(0.55, 0.002, 15.0), 35.0, found).refused
    assert not restate(BenchReading(0.47, 0.002, 15.0), 35.0, found).refused


def test_an_own_heat_knows_what_it_is_of():
    found = heat_from_isotherms(isotherms(product="bar", formula_version="3", direction="desorption"), 0.47, 15.0, 35.0)
    assert (found.product, found.formula_version) == ("bar", "3")
    assert "bar 3" in found.source
    assert any("of desorption" in each for each in found.remarks)
    assert restate(BenchReading(0.47, 0.002, 15.0, product="cake"), 35.0, found).refused


@pytest.mark.parametrize(("a_w", "from_c", "to_c"), [(0.95, 15.0, 35.0), (0.47, 10.0, 35.0), (0.47, 15.0, 45.0)])
def test_beyond_the_isotherms_there_is_no_heat(a_w, from_c, to_c):
    for fits in (isotherms(), joint()):
        with pytest.raises(RangeError):
            heat_from_isotherms(fits, a_w, from_c, to_c)


def test_a_heat_of_a_product_restates_only_readings_that_name_it():
    of_bar = heat(product="soft bar", formula_version="7")
    named = BenchReading(0.85, 0.002, 25.0, product="soft bar", formula_version="7")
    assert restate(named, 30.0, of_bar).value is not None
    for reading, said in (
        (BenchReading(0.85, 0.002, 25.0), "no product that is named"),
        (BenchReading(0.85, 0.002, 25.0, product="cream", formula_version="7"), "the reading of cream"),
        (BenchReading(0.85, 0.002, 25.0, product="soft bar"), "recipe 7, the reading of none that is named"),
    ):
        refused = restate(reading, 30.0, of_bar)
        assert refused.value is None
        assert any(said in reason for reason in refused.reasons)

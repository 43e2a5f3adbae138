"""Saturated salts against the printed table of 1977, its uncertainties, and its known misprints."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.foundation.solutions import known_solutions, reference_value, saturated_a_w, saturated_u, solution_key
from isohume.foundation.solutions.saturated import is_saturated_salt, saturated_range
from isohume.outlets.validate.check import read_table

REFUSED = {"NaI", "KF", "CoCl2", "K2CrO4"}
ROWS = [r for r in read_table("saturated_salts.csv") if r["kind"] == "table" and r["salt"] not in REFUSED]
SALTS = [key for key in known_solutions() if is_saturated_salt(key)]


def test_the_table_is_there():
    assert len(ROWS) == 161
    assert len(SALTS) == 24
    assert {solution_key(r["salt"]) for r in ROWS} == set(SALTS)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['id']}-{r['salt']}-{r['t_C']}")
def test_every_salt_at_every_printed_temperature_within_the_truncation(row):
    # Greenspan1977 table 2 is truncated to 0.01 % RH: polynomial minus table in [0, 0.01); a refit may miss by 0.001
    percent = 100 * saturated_a_w(solution_key(row["salt"]), float(row["t_C"]))
    assert -0.001 <= percent - float(row["value"]) < 0.011


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['id']}-{r['salt']}-{r['t_C']}")
def test_u_is_half_the_printed_figure(row):
    printed = float(re.match(r"\+/-([\d.]+)", row["uncertainty"]).group(1))
    u = saturated_u(solution_key(row["salt"]), float(row["t_C"]))
    assert u == pytest.approx(printed / 200, abs=1e-12)


# values of Greenspan1977 table 2 that the shipped table lacks; KNO3 and LiCl +/- as in the project's trade page
@pytest.mark.parametrize(
    ("salt", "temperature_c", "printed"),
    [
        ("LiCl", 15, 11.30),
        ("LiCl", 25, 11.30),
        ("LiCl", 35, 11.25),
        ("CH3COOK", 15, 23.40),
        ("CH3COOK", 25, 22.51),
        ("KNO3", 15, 95.41),
        ("KNO3", 25, 93.58),
        ("KNO3", 35, 90.79),
        ("NaCl", 60, 74.50),
        ("KCl", 80, 78.90),
        ("MgCl2", 80, 26.05),
    ],
)
def test_rows_the_shipped_table_lacks(salt, temperature_c, printed):
    assert 0 <= 100 * saturated_a_w(salt, temperature_c) - printed < 0.011


@pytest.mark.parametrize(
    ("salt", "right", "wrong"),
    [("LiCl", 0.1130, 0.1089), ("CH3COOK", 0.2252, 0.302), ("K2CO3", 0.4317, 0.4309)],
)
def test_known_sign_errors_are_not_ours(salt, right, wrong):
    # the wrong values come from public transcriptions with one sign turned
    a_w = saturated_a_w(salt, 25.0)
    assert a_w == pytest.approx(right, abs=5e-5)
    assert abs(a_w - wrong) > 5e-4


def test_the_contract_example():
    # the worked example of the command line, NaCl at 22 degC
    value = reference_value("NaCl", 22.0)
    assert value.a_w == pytest.approx(0.7541114, abs=5e-8)
    assert value.u == pytest.approx(0.00066, abs=5e-9)
    assert value.kind == "saturated"
    assert (value.source, value.verified, value.cautions) == ("Greenspan1977", "text", ())
    assert value.valid_temperature_c == (0.0, 80.0)
    assert (value.molality, value.osmotic_coefficient, value.g_per_100_g_water) == (None, None, None)


@pytest.mark.parametrize(("salt", "temperature_c", "a_w"), [("MgCl2", 24.85, 0.3279742), ("NaCl", 25.05, 0.7529611)])
def test_the_expected_values_of_the_check_example(salt, temperature_c, a_w):
    # the worked example of the check: the mean temperatures of its readings
    assert saturated_a_w(salt, temperature_c) == pytest.approx(a_w, abs=5e-8)


def test_u_is_unknown_beyond_the_printed_figures_and_says_so():
    value = reference_value("NaCl", 60.0)
    assert value.u is None
    assert any("no u at this temperature" in words for words in value.cautions)


@pytest.mark.parametrize("key", sorted(REFUSED))
def test_salts_without_trustworthy_rows_are_refused_with_the_reason(key):
    with pytest.raises(InputError, match=r"rows at hand|rows are at hand|row is at hand"):
        reference_value(key)


@pytest.mark.parametrize(("key", "temperature_c"), [("NaCl", 80.1), ("NaCl", -0.1), ("CH3COOK", 31), ("CsF", 14)])
def test_beyond_the_range_is_an_error(key, temperature_c):
    with pytest.raises(RangeError) as error:
        reference_value(key, temperature_c)
    assert (error.value.low, error.value.high) == (saturated_range(key).low, saturated_range(key).high)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_temperature_that_is_no_number_is_an_error(value):
    with pytest.raises(InputError, match="temperature_c"):
        reference_value("NaCl", value)


def test_a_solution_without_saturated_value_says_what_to_give():
    with pytest.raises(InputError, match="give a molality"):
        reference_value("sucrose")


def test_arrays_give_arrays():
    temperatures = np.array([[20.0, 25.0], [30.0, 40.0]])
    found = saturated_a_w("KCl", temperatures)
    assert found.shape == temperatures.shape
    assert found.tolist() == [[saturated_a_w("KCl", t) for t in line] for line in temperatures.tolist()]


def test_an_array_beyond_the_range_names_the_elements():
    with pytest.raises(RangeError) as error:
        saturated_a_w("NaCl", np.array([20.0, 81.0, 25.0, -3.0]))
    assert error.value.offending == (1, 3)


def test_refits_say_they_are_from_memory():
    value = reference_value("NaBr")
    assert (value.source, value.verified) == ("Greenspan1977refit", "memory")
    assert any("refit" in words for words in value.cautions)


@settings(derandomize=True, max_examples=200)
@given(st.sampled_from(SALTS), st.floats(0, 1))
def test_values_are_fractions_and_u_is_positive_or_unknown(key, share):
    span = saturated_range(key)
    value = reference_value(key, span.low + share * (span.high - span.low))
    assert 0 < value.a_w < 1
    assert value.u is None or 0 < value.u < 0.02

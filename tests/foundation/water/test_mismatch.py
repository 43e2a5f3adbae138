"""The warm-sample guard: the bench's own figures, IAPWS-95 by CoolProp, and a root finder."""

import CoolProp.CoolProp as CoolProp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws import IAPWS95
from scipy.optimize import brentq

from isohume.foundation.quantity.errors import RangeError
from isohume.foundation.water import (
    mismatch_error,
    sensitivity_per_k,
    tolerable_excess_k,
    would_condense,
)

BLOCK_K = 298.15


def iapws_95(temperature_k: float) -> float:
    return float(CoolProp.PropsSI("P", "T", temperature_k, "Q", 0, "HEOS::Water"))


@pytest.mark.parametrize(
    ("a_w", "excess_k", "half_digit"),
    [(0.95, 0.9, 0.05), (0.93, 1.2, 0.05), (0.50, 12, 0.5), (1.0, 0.0, 1e-9)],
)
def test_excess_of_the_bench_rule(a_w, excess_k, half_digit):
    # about 0.9 degC at 0.95 and about 12 degC at 0.50, block at 25 degC
    assert tolerable_excess_k(a_w, BLOCK_K) == pytest.approx(excess_k, abs=half_digit)


@given(st.floats(0.3, 0.999), st.floats(283.15, 313.15))
@settings(derandomize=True)
def test_excess_is_where_a_root_finder_puts_it(a_w, block_k):
    pressure = IAPWS95._Vapor_Pressure
    expected = brentq(lambda d: a_w * pressure(block_k + d) - pressure(block_k), 0.0, 40.0, xtol=1e-11)
    assert tolerable_excess_k(a_w, block_k) == pytest.approx(expected, abs=1e-8)


@given(st.floats(0.3, 0.999), st.floats(283.15, 313.15), st.floats(1e-6, 5.0))
@settings(derandomize=True)
def test_water_condenses_beyond_the_excess_and_not_before(a_w, block_k, more):
    limit = block_k + tolerable_excess_k(a_w, block_k)
    assert would_condense(a_w, limit + more, block_k) is True
    assert would_condense(a_w, limit - more, block_k) is False


def test_the_two_worked_cases():
    # 27 degC sample in a 25 degC block: 0.93 condenses, 0.40 does not but would be read about 0.05 high
    assert would_condense(0.93, 300.15, BLOCK_K) is True
    assert would_condense(0.40, 300.15, BLOCK_K) is False
    assert mismatch_error(0.40, 300.15, BLOCK_K) == pytest.approx(0.05, abs=0.005)


def test_error_of_the_bench_rule():
    # 0.052 for 1 degC at 0.85, 0.005 for 0.1 degC
    assert mismatch_error(0.85, 299.15, BLOCK_K) == pytest.approx(0.052, abs=0.0005)
    assert mismatch_error(0.85, 298.25, BLOCK_K) == pytest.approx(0.005, abs=0.0005)


def test_a_sample_from_the_chiller_reads_low():
    # 4 degC in a 25 degC block, by IAPWS-95
    expected = 0.85 * (iapws_95(277.15) / iapws_95(BLOCK_K) - 1)
    assert expected < -0.6
    assert mismatch_error(0.85, 277.15, BLOCK_K) == pytest.approx(expected, abs=1e-4)
    assert would_condense(0.85, 277.15, BLOCK_K) is False


@pytest.mark.parametrize("a_w", [0.25, 0.6, 0.95])
@pytest.mark.parametrize("sample_c", [18, 24, 25, 25.5, 27, 35])
def test_error_by_iapws_95(a_w, sample_c):
    expected = a_w * (iapws_95(sample_c + 273.15) / iapws_95(BLOCK_K) - 1)
    # two pressures, each within the 7.2e-5 that the reference form states
    assert mismatch_error(a_w, sample_c + 273.15, BLOCK_K) == pytest.approx(expected, abs=1.44e-4 * 2)


@pytest.mark.parametrize("a_w", [0.25, 0.85, 1.0])
def test_sensitivity(a_w):
    # about 0.06 a_w per K at room temperature; the derivative by IAPWS-95
    expected = a_w * (iapws_95(BLOCK_K + 0.01) - iapws_95(BLOCK_K - 0.01)) / 0.02 / iapws_95(BLOCK_K)
    assert expected == pytest.approx(0.06 * a_w, abs=0.005 * a_w)
    assert sensitivity_per_k(a_w, BLOCK_K) == pytest.approx(expected, rel=2e-4)


def test_arrays():
    a_w, sample = np.array([0.4, 0.93]), np.array([[298.15], [300.15]])
    assert would_condense(a_w, sample, BLOCK_K).tolist() == [[False, False], [False, True]]
    errors = mismatch_error(a_w, sample, BLOCK_K)
    assert errors[0] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert errors[1, 0] == pytest.approx(mismatch_error(0.4, 300.15, BLOCK_K), rel=1e-12)
    assert tolerable_excess_k(a_w, BLOCK_K) == pytest.approx(
        [tolerable_excess_k(0.4, BLOCK_K), tolerable_excess_k(0.93, BLOCK_K)], abs=1e-9
    )
    assert sensitivity_per_k(a_w, BLOCK_K) == pytest.approx([0.4 * 0.0596, 0.93 * 0.0596], abs=1e-4)


def test_so_dry_that_nothing_condenses():
    with pytest.raises(RangeError, match="nothing condenses"):
        tolerable_excess_k(1e-5, BLOCK_K)
    with pytest.raises(RangeError, match="nothing condenses") as caught:
        tolerable_excess_k(np.array([0.5, 0.0]), BLOCK_K)
    assert caught.value.offending == (1,)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((93.0, 300.15, BLOCK_K), "a_w"),
        ((0.93, 27.0, BLOCK_K), "sample_temperature_k"),
        ((0.93, 300.15, 25.0), "block_temperature_k"),
        ((0.93, 263.15, BLOCK_K), "sample_temperature_k"),
    ],
)
def test_wrong_units_and_frozen_samples_are_refused(arguments, field):
    for function in (would_condense, mismatch_error):
        with pytest.raises(RangeError) as caught:
            function(*arguments)
        assert caught.value.field == field

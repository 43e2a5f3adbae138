"""Dew point against IAPWS-95 by CoolProp, against bisection on a plain sum, and against its own inverse."""

import CoolProp.CoolProp as CoolProp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws import IAPWS95

import isohume.foundation.water as water
from isohume.foundation.quantity.errors import RangeError
from isohume.foundation.water import a_w_from_dew_point, dew_point, u_a_w_from_dew_point

BENCH_K = st.floats(278.15, 323.15)


def by_bisection(a_w: float, temperature_k: float) -> float:
    """The plain twin: the library's pressure at the surface, halved intervals for the dew point."""
    wanted = a_w * IAPWS95._Vapor_Pressure(temperature_k)
    low, high = 273.16, temperature_k
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if IAPWS95._Vapor_Pressure(middle) < wanted else (low, middle)
    return 0.5 * (low + high)


@given(st.floats(0.72, 1.0), BENCH_K)
@settings(derandomize=True)
def test_plain_twin_gives_the_same(a_w, temperature_k):
    assert dew_point(a_w, temperature_k) == pytest.approx(by_bisection(a_w, temperature_k), abs=1e-9)


@pytest.mark.parametrize("temperature_c", [15, 20, 25, 30, 40])
@pytest.mark.parametrize("a_w", [0.4, 0.6, 0.85, 0.93, 0.99])
def test_iapws_95_gives_the_same(a_w, temperature_c):
    kelvin = temperature_c + 273.15
    vapour = a_w * CoolProp.PropsSI("P", "T", kelvin, "Q", 0, "HEOS::Water")
    # 0.002 K is what the published rows of water.csv carry
    assert dew_point(a_w, kelvin) == pytest.approx(CoolProp.PropsSI("T", "P", vapour, "Q", 0, "HEOS::Water"), abs=0.002)


@given(st.floats(0.0, 1.0), st.floats(273.15, 623.15))
@settings(derandomize=True, max_examples=300)
def test_there_and_back(share, temperature_k):
    # from the driest a_w that has a dew point at this temperature up to 1
    lowest = water.saturation_pressure(273.15) / water.saturation_pressure(temperature_k)
    a_w = min(1.0, lowest * (1 + 1e-12) + share * (1 - lowest))
    dew = dew_point(a_w, temperature_k)
    assert 273.15 <= dew <= temperature_k
    assert a_w_from_dew_point(dew, temperature_k) == pytest.approx(a_w, rel=1e-11)


@given(st.floats(0.5, 0.98), st.floats(0.001, 0.01), st.floats(288.15, 323.15))
@settings(derandomize=True)
def test_more_water_has_a_higher_dew_point(a_w, more, temperature_k):
    assert dew_point(a_w + more, temperature_k) > dew_point(a_w, temperature_k)


def test_pure_water_dews_at_its_own_temperature():
    for kelvin in (273.15, 298.15, 623.15):
        assert dew_point(1.0, kelvin) == pytest.approx(kelvin, abs=1e-9)
        assert a_w_from_dew_point(kelvin, kelvin) == 1.0


def test_arrays_and_floats_mix():
    a_w, kelvin = np.array([0.5, 0.75, 0.9]), np.array([[293.15], [298.15]])
    dew = dew_point(a_w, kelvin)
    assert dew.shape == (2, 3)
    assert dew[1, 1] == pytest.approx(dew_point(0.75, 298.15), abs=1e-9)
    assert dew_point(a_w, 298.15) == pytest.approx(dew[1], abs=1e-9)
    assert dew_point(0.75, kelvin[:, 0]) == pytest.approx(dew[:, 1], abs=1e-9)
    assert a_w_from_dew_point(dew, kelvin) == pytest.approx(np.broadcast_to(a_w, (2, 3)), rel=1e-11)


def test_below_zero_the_frost_point_is_named():
    with pytest.raises(RangeError, match="frost point") as caught:
        dew_point(0.1, 298.15)
    # IAPWS-95: p(0 degC)/p(25 degC) = 611.21/3169.93
    assert caught.value.low == pytest.approx(0.19282, abs=1e-4)
    with pytest.raises(RangeError, match="frost point") as caught:
        dew_point(np.array([0.5, 0.1, 0.05]), 298.15)
    assert caught.value.offending == (1, 2)
    assert caught.value.low == pytest.approx(0.19282, abs=1e-4)


@pytest.mark.parametrize("a_w", [65.2, 1.0000001, -0.1])
def test_what_is_no_water_activity_is_refused(a_w):
    with pytest.raises(RangeError, match="a fraction, not percent"):
        dew_point(a_w, 298.15)


def test_a_dew_point_above_the_surface_is_condensation():
    with pytest.raises(RangeError, match="condenses") as caught:
        a_w_from_dew_point(298.25, 298.15)
    assert caught.value.high == 298.15
    with pytest.raises(RangeError, match="condenses") as caught:
        a_w_from_dew_point(np.array([290.0, 299.0]), 298.15)
    assert caught.value.offending == (1,)


def test_uncertainty_of_the_bench_rule():
    # job figure: 0.1 degC of surface mismatch is about 0.6 % of a_w, 0.005 at 0.85
    dew = dew_point(0.85, 298.15)
    assert u_a_w_from_dew_point(dew, 298.15, 0.0, 0.1) == pytest.approx(0.005, abs=0.0005)


@given(st.floats(0.3, 0.99), BENCH_K, st.floats(0, 0.2), st.floats(0, 0.2), st.floats(-1, 1))
@settings(derandomize=True)
def test_uncertainty_is_the_gum_sum_over_finite_differences(a_w, surface_k, u_dew, u_surface, correlation):
    kelvin = max(surface_k, 293.15)
    dew = dew_point(a_w, kelvin)
    pressure, step = IAPWS95._Vapor_Pressure, 1e-3
    at_dew = (pressure(dew + step) - pressure(dew - step)) / (2 * step * pressure(kelvin))
    at_surface = pressure(dew) * (1 / pressure(kelvin + step) - 1 / pressure(kelvin - step)) / (2 * step)
    variance = (at_dew * u_dew) ** 2 + (at_surface * u_surface) ** 2
    variance += 2 * correlation * at_dew * at_surface * u_dew * u_surface
    expected = max(variance, 0.0) ** 0.5
    assert u_a_w_from_dew_point(dew, kelvin, u_dew, u_surface, correlation) == pytest.approx(
        expected, rel=1e-5, abs=1e-8
    )


def test_uncertainty_against_monte_carlo():
    rng = np.random.default_rng(20260101)
    dew, surface = 293.15 + 0.05 * rng.standard_normal(200_000), 298.15 + 0.08 * rng.standard_normal(200_000)
    drawn = a_w_from_dew_point(dew, surface).std(ddof=1)
    # standard error of a standard deviation from n draws: 1/sqrt(2 n) = 0.16 %; four of them
    assert u_a_w_from_dew_point(293.15, 298.15, 0.05, 0.08) == pytest.approx(drawn, rel=0.0064)


def test_uncertainty_of_arrays():
    dews = np.array([280.0, 285.0, 290.0])
    got = u_a_w_from_dew_point(dews, 298.15, 0.1, np.array([0.0, 0.1, 0.2]))
    each = [u_a_w_from_dew_point(d, 298.15, 0.1, s) for d, s in zip(dews.tolist(), (0.0, 0.1, 0.2), strict=True)]
    assert got == pytest.approx(each, rel=1e-12)


@pytest.mark.parametrize("wrong", [{"u_dew_point_k": -0.1}, {"u_surface_temperature_k": -1.0}, {"correlation": 1.1}])
def test_impossible_uncertainties_are_refused(wrong):
    given_values = {"u_dew_point_k": 0.1, "u_surface_temperature_k": 0.1, "correlation": 0.0} | wrong
    with pytest.raises(RangeError) as caught:
        u_a_w_from_dew_point(293.15, 298.15, **given_values)
    assert caught.value.field == next(iter(wrong))

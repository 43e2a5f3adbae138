"""IAPWS R14-08(2011): the release's check value, iapws, and the commonly tabulated water activity of ice."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws import IAPWS95
from iapws._iapws import _Sublimation_Pressure
from scipy.optimize import brentq

from isohume.foundation.quantity.errors import RangeError
from isohume.foundation.water import (
    A_W_OF_ICE_UNCERTAINTY,
    a_w_from_frost_point,
    a_w_of_ice,
    frost_point,
    saturation_pressure,
    sublimation_pressure,
)


def test_check_value_of_the_release():
    # 8.94735e-6 MPa at 230 K
    assert sublimation_pressure(230) == pytest.approx(8.94735, abs=5e-6)


def test_ice_and_liquid_meet_at_the_triple_point():
    # 611.657 Pa by both releases
    assert sublimation_pressure(273.16) == pytest.approx(611.657, abs=5e-4)
    assert sublimation_pressure(273.16) == pytest.approx(saturation_pressure(273.16), rel=1e-6)
    assert a_w_of_ice(273.16) == pytest.approx(1.0, abs=1e-6)


@given(st.floats(50, 273.16))
@settings(derandomize=True)
def test_library_gives_the_same(temperature_k):
    assert sublimation_pressure(temperature_k) == pytest.approx(1e6 * _Sublimation_Pressure(temperature_k), rel=1e-12)


@pytest.mark.parametrize(("celsius", "low", "high"), [(-5, 0.953, 0.953), (-10, 0.907, 0.907), (-20, 0.82, 0.823)])
def test_commonly_tabulated_water_activity_of_ice(celsius, low, high):
    # two tabulations at -20 degC; the last digit of the table and the stated uncertainty
    got = a_w_of_ice(celsius + 273.15)
    assert low - A_W_OF_ICE_UNCERTAINTY <= got <= high + A_W_OF_ICE_UNCERTAINTY


@given(st.floats(1e-6, 0.19), st.floats(273.16, 298.15))
@settings(derandomize=True)
def test_frost_point_is_where_a_root_finder_puts_it(a_w, surface_k):
    vapour = a_w * 1e6 * IAPWS95._Vapor_Pressure(surface_k)
    expected = brentq(lambda t: 1e6 * _Sublimation_Pressure(t) - vapour, 150.0, 273.16, xtol=1e-10)
    assert frost_point(a_w, surface_k) == pytest.approx(expected, abs=1e-8)


@given(st.floats(50.001, 273.159), st.floats(273.16, 623.15))
@settings(derandomize=True, max_examples=300)
def test_there_and_back(frost_k, surface_k):
    a_w = a_w_from_frost_point(frost_k, surface_k)
    assert frost_point(a_w, surface_k) == pytest.approx(frost_k, abs=1e-8)


def test_typed_degrees_at_the_edge_of_the_range_are_inside():
    # -20 + 273.15 is a last bit below 253.15, 0.01 + 273.15 one below the triple point
    assert a_w_of_ice(-20 + 273.15) == pytest.approx(0.8219, abs=A_W_OF_ICE_UNCERTAINTY)
    assert a_w_from_frost_point(0.01 + 273.15, 0.01 + 273.15) == pytest.approx(1.0, abs=1e-6)


def test_arrays():
    a_w = np.array([[0.01, 0.05], [0.1, 0.15]])
    frost = frost_point(a_w, 298.15)
    assert frost == pytest.approx(np.array([[frost_point(float(a), 298.15) for a in row] for row in a_w]))
    assert a_w_from_frost_point(frost, 298.15) == pytest.approx(a_w, rel=1e-10)
    cold = np.array([255.0, 260.0, 270.0])
    assert a_w_of_ice(cold) == pytest.approx([a_w_of_ice(float(t)) for t in cold], rel=1e-13)
    assert sublimation_pressure(cold) == pytest.approx([sublimation_pressure(float(t)) for t in cold], rel=1e-13)


def test_where_dew_forms_the_dew_point_is_named():
    with pytest.raises(RangeError, match="dew point") as caught:
        frost_point(np.array([0.1, 0.5]), 298.15)
    assert caught.value.offending == (1,)
    # triple-point pressure over the saturation pressure at 25 degC: 611.657/3169.8
    assert caught.value.high == pytest.approx(0.19296, abs=2e-5)


@pytest.mark.parametrize(
    ("function", "temperature_k"),
    [(sublimation_pressure, 273.17), (sublimation_pressure, 49.0), (a_w_of_ice, 253.0), (a_w_of_ice, 274.0)],
)
def test_beyond_the_range_is_refused(function, temperature_k):
    with pytest.raises(RangeError):
        function(temperature_k)


def test_a_mirror_above_the_triple_point_holds_no_frost():
    with pytest.raises(RangeError) as caught:
        a_w_from_frost_point(275.0, 298.15)
    assert caught.value.field == "frost_point_k"

"""Tables and checks: IAPWS R7-97(2012), Tables 35 and 36; the same equations by iapws."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws.iapws97 import _PSat_T, _TSat_P

from isohume.foundation.quantity.errors import RangeError
from isohume.foundation.water import saturation_pressure_fast, saturation_temperature

LIQUID_K = st.floats(273.15, 647.096)


@pytest.mark.parametrize(
    ("temperature_k", "printed_mpa", "half_digit"),
    [(300, 0.353658941e-2, 5e-12), (500, 0.263889776e1, 5e-9), (600, 0.123443146e2, 5e-8)],
)
def test_table_35(temperature_k, printed_mpa, half_digit):
    assert saturation_pressure_fast(temperature_k) / 1e6 == pytest.approx(printed_mpa, abs=half_digit)


@pytest.mark.parametrize(
    ("pressure_mpa", "printed_k"),
    [(0.1, 0.372755919e3), (1, 0.453035632e3), (10, 0.584149488e3)],
)
def test_table_36(pressure_mpa, printed_k):
    assert saturation_temperature(pressure_mpa * 1e6) == pytest.approx(printed_k, abs=5e-7)


@given(LIQUID_K)
@settings(derandomize=True)
def test_library_gives_the_same_pressure(temperature_k):
    assert saturation_pressure_fast(temperature_k) == pytest.approx(1e6 * _PSat_T(temperature_k), rel=1e-12)


@given(st.floats(0.00061122, 22.06))
@settings(derandomize=True)
def test_library_gives_the_same_temperature(pressure_mpa):
    assert saturation_temperature(pressure_mpa * 1e6) == pytest.approx(_TSat_P(pressure_mpa), abs=1e-9)


@given(LIQUID_K)
@settings(derandomize=True)
def test_there_and_back(temperature_k):
    assert saturation_temperature(saturation_pressure_fast(temperature_k)) == pytest.approx(temperature_k, abs=2e-6)


@given(st.lists(LIQUID_K, min_size=1, max_size=20))
@settings(derandomize=True)
def test_array_gives_each_float(temperatures_k):
    pressures = saturation_pressure_fast(np.array(temperatures_k))
    assert pressures == pytest.approx([saturation_pressure_fast(t) for t in temperatures_k], rel=1e-13)
    back = saturation_temperature(pressures)
    assert back == pytest.approx([saturation_temperature(float(p)) for p in pressures], abs=1e-9)


@pytest.mark.parametrize("temperature_k", [273.149, 647.0961])
def test_temperature_beyond_the_range_is_refused(temperature_k):
    with pytest.raises(RangeError):
        saturation_pressure_fast(temperature_k)


@pytest.mark.parametrize("pressure_pa", [611.2, 22.065e6, 0.0, -5.0])
def test_pressure_beyond_the_range_is_refused(pressure_pa):
    with pytest.raises(RangeError) as caught:
        saturation_temperature(pressure_pa)
    # the limits as the release states them: 611.213 Pa and 22.064 MPa
    assert caught.value.low == pytest.approx(611.213, abs=5e-4)
    assert caught.value.high == pytest.approx(22.064e6, abs=500)

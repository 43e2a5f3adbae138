"""Tables and checks: IAPWS SR1-86(1992), Table 1; the same equation by iapws and by a slow plain twin."""

import json
import math
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws import IAPWS95

import isohume.foundation.water.wagner_pruss as module
from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.foundation.water import saturation_pressure, saturation_pressure_slope

CONSTANTS = json.loads(Path(module.__file__).with_name("wagner_pruss.json").read_text(encoding="utf-8"))
LIQUID_K = st.floats(273.15, 647.096)


def plain_twin(temperature_k: float) -> float:
    """Equation 1 written down term by term, with the printed exponents."""
    tau = 1 - temperature_k / CONSTANTS["critical_temperature_k"]
    terms = zip(CONSTANTS["pressure"]["coefficients"], CONSTANTS["pressure"]["exponents"], strict=True)
    total = sum(a * tau ** float(Fraction(n)) for a, n in terms)
    exponent = CONSTANTS["critical_temperature_k"] / temperature_k * total
    return CONSTANTS["critical_pressure_pa"] * math.exp(exponent)


@pytest.mark.parametrize(
    ("temperature_k", "printed_pa", "half_digit"),
    [(273.16, 611.657, 0.0005), (373.1243, 101325, 0.5), (647.096, 22.064e6, 500)],
)
def test_pressure_of_the_release(temperature_k, printed_pa, half_digit):
    assert saturation_pressure(temperature_k) == pytest.approx(printed_pa, abs=half_digit)


@pytest.mark.parametrize(
    ("temperature_k", "printed", "half_digit"),
    [(273.16, 44.436693, 5e-7), (373.1243, 3616, 0.5), (647.096, 268e3, 500)],
)
def test_slope_of_the_release(temperature_k, printed, half_digit):
    assert saturation_pressure_slope(temperature_k) == pytest.approx(printed, abs=half_digit)


@given(LIQUID_K)
@settings(derandomize=True)
def test_plain_twin_gives_the_same(temperature_k):
    assert saturation_pressure(temperature_k) == pytest.approx(plain_twin(temperature_k), rel=1e-12)


@given(st.floats(273.16, 647.0))
@settings(derandomize=True)
def test_library_gives_the_same(temperature_k):
    assert saturation_pressure(temperature_k) == pytest.approx(1e6 * IAPWS95._Vapor_Pressure(temperature_k), rel=1e-12)
    assert saturation_pressure_slope(temperature_k) == pytest.approx(1e6 * IAPWS95._dPdT_sat(temperature_k), rel=1e-10)


@given(st.floats(273.2, 646.0))
@settings(derandomize=True)
def test_slope_is_the_derivative_of_the_plain_twin(temperature_k):
    step = 0.01
    difference = (plain_twin(temperature_k + step) - plain_twin(temperature_k - step)) / (2 * step)
    assert saturation_pressure_slope(temperature_k) == pytest.approx(difference, rel=1e-6)


@given(st.lists(LIQUID_K, min_size=1, max_size=20))
@settings(derandomize=True)
def test_array_gives_each_float(temperatures_k):
    for function in (saturation_pressure, saturation_pressure_slope):
        got = function(np.array(temperatures_k))
        assert got.shape == (len(temperatures_k),)
        assert got == pytest.approx([function(t) for t in temperatures_k], rel=1e-13)


@pytest.mark.parametrize("temperature_k", [273.1499, 25.0, 647.097, -1.0])
def test_beyond_the_range_is_refused(temperature_k):
    for function in (saturation_pressure, saturation_pressure_slope):
        with pytest.raises(RangeError) as caught:
            function(temperature_k)
        assert (caught.value.low, caught.value.high, caught.value.field) == (273.15, 647.096, "temperature_k")


def test_not_a_number_is_refused():
    with pytest.raises(InputError, match="finite"):
        saturation_pressure(math.nan)
    with pytest.raises(RangeError):
        saturation_pressure(np.array([300.0, math.nan]))


def test_refusal_names_the_offending_elements():
    with pytest.raises(RangeError) as caught:
        saturation_pressure(np.array([[300.0, 20.0], [301.0, 700.0]]))
    assert caught.value.offending == (1, 3)


def test_floats_need_no_numpy():
    program = (
        "import sys, isohume.foundation.water as w\n"
        "w.saturation_pressure(298.15), w.dew_point(0.75, 298.15), w.frost_point(0.1, 298.15)\n"
        "w.latent_heat(298.15), w.tolerable_excess_k(0.93, 298.15), w.would_condense(0.93, 300.15, 298.15)\n"
        "w.u_a_w_from_dew_point(293.15, 298.15, 0.1, 0.1)\n"
        "sys.exit(any(name in sys.modules for name in ('numpy', 'scipy', 'statistics')))"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0

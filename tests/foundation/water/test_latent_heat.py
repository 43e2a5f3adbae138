"""Tables and checks: IAPWS SR1-86(1992), Table 1."""

import math

import numpy as np
import pytest

from isohume.foundation.quantity.errors import RangeError
from isohume.foundation.water.latent_heat import latent_heat, liquid_density, vapour_density


@pytest.mark.parametrize(
    ("temperature_k", "liquid", "liquid_digit", "vapour", "vapour_digit"),
    [(273.16, 999.789, 5e-4, 0.00485426, 5e-9), (373.1243, 958.365, 5e-4, 0.597586, 5e-7)],
)
def test_densities_of_the_release(temperature_k, liquid, liquid_digit, vapour, vapour_digit):
    assert liquid_density(temperature_k) == pytest.approx(liquid, abs=liquid_digit)
    assert vapour_density(math, temperature_k) == pytest.approx(vapour, abs=vapour_digit)


@pytest.mark.parametrize(
    ("temperature_k", "vapour_j_kg", "liquid_j_kg", "half_digit"),
    [(273.16, 2500.5e3, 0.611786, 50), (373.1243, 2675.7e3, 419.05e3, 55)],
)
def test_enthalpies_of_the_release(temperature_k, vapour_j_kg, liquid_j_kg, half_digit):
    per_kg = latent_heat(temperature_k) / 0.018015268
    assert per_kg == pytest.approx(vapour_j_kg - liquid_j_kg, abs=half_digit)


def test_nothing_is_left_at_the_critical_point():
    # both densities are 322 kg/m3 there (Table 1)
    assert latent_heat(647.096) == pytest.approx(0.0, abs=1e-9)


def test_array_gives_each_float():
    temperatures = np.linspace(273.15, 647.096, 97)
    assert latent_heat(temperatures) == pytest.approx([latent_heat(float(t)) for t in temperatures], rel=1e-9)


@pytest.mark.parametrize("temperature_k", [273.1, 647.1])
def test_beyond_the_range_is_refused(temperature_k):
    with pytest.raises(RangeError):
        latent_heat(temperature_k)

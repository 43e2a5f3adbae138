"""The agreement that the docstrings state is the one that is measured: neither smaller nor much larger."""

import re
from importlib import import_module
from types import ModuleType

import CoolProp.CoolProp as CoolProp
import numpy as np
import pytest
from iapws import IAPWS95
from iapws.iapws97 import _PSat_T

fast = import_module("isohume.foundation.water.iapws_if97")
latent = import_module("isohume.foundation.water.latent_heat")
reference = import_module("isohume.foundation.water.wagner_pruss")

# CoolProp starts at the triple point; iapws clamps below it
TEMPERATURES_K = np.linspace(273.16, 373.15, 401)


def stated(module: ModuleType, other: str) -> float:
    """The number behind `from <other>:` in the module's docstring."""
    found = re.search(rf"from {re.escape(other)}: (\S+)", module.__doc__)
    return float(found[1])


def from_coolprop(what: str, quality: float) -> np.ndarray:
    return np.array([CoolProp.PropsSI(what, "T", t, "Q", quality, "HEOS::Water") for t in TEMPERATURES_K])


def largest(ours: np.ndarray, theirs: np.ndarray) -> float:
    return float(np.abs(ours / theirs - 1).max())


@pytest.mark.parametrize(
    ("module", "function"),
    [(reference, reference.saturation_pressure), (fast, fast.saturation_pressure_fast)],
)
def test_pressure_against_iapws_95(module, function):
    limit = stated(module, "IAPWS-95 by CoolProp 8.0.0")
    assert 0.9 * limit <= largest(function(TEMPERATURES_K), from_coolprop("P", 0)) <= limit


def test_pressure_against_the_library_of_the_same_equation():
    plain = 1e6 * np.array([IAPWS95._Vapor_Pressure(t) for t in TEMPERATURES_K])
    limit = stated(reference, "the same equation by iapws 1.5.5")
    assert largest(reference.saturation_pressure(TEMPERATURES_K), plain) <= limit
    plain = 1e6 * np.array([_PSat_T(t) for t in TEMPERATURES_K])
    limit = stated(fast, "the same equation by iapws 1.5.5")
    assert largest(fast.saturation_pressure_fast(TEMPERATURES_K), plain) <= limit


def test_the_two_forms_against_each_other():
    apart = largest(reference.saturation_pressure(TEMPERATURES_K), fast.saturation_pressure_fast(TEMPERATURES_K))
    for limit in (stated(reference, "the fast form"), stated(fast, "the reference form")):
        assert 0.9 * limit <= apart <= limit


def test_latent_heat():
    ours = latent.latent_heat(TEMPERATURES_K)
    limit = stated(latent, "IAPWS-95 by CoolProp 8.0.0")
    theirs = from_coolprop("HMOLAR", 1) - from_coolprop("HMOLAR", 0)
    assert 0.9 * limit <= largest(ours, theirs) <= limit
    water = IAPWS95
    plain = np.array([water._Vapor_Enthalpy(t) - water._Liquid_Enthalpy(t) for t in TEMPERATURES_K])
    assert largest(ours, plain * water.M) <= stated(latent, "the same equations by iapws 1.5.5")

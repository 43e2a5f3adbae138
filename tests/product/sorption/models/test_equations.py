"""Every model's kernels against its equation as it is printed, and against differences of themselves."""

from __future__ import annotations

import math
from collections.abc import Callable
from types import ModuleType

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.product.sorption.models.dispatch import MODULES

R = 8.314462618e-3  # kJ/(mol K), exact in the SI of 2019


def _gab(a: float, m: float, c: float, k: float) -> float:
    return m * c * k * a / ((1 - k * a) * (1 - k * a + c * k * a))


# The equations once more, plainly and in many digits: the slow twins. t is in degC, p the printed parameters.
TWINS: dict[str, Callable[..., float]] = {
    # the table of the panel of eleven in the command line's contract
    "gab": lambda aw, t, m, c, k: _gab(aw, m, c, k),
    "bet": lambda aw, t, m, c: m * c * aw / ((1 - aw) * (1 - aw + c * aw)),
    "oswin": lambda aw, t, a, b: a * (aw / (1 - aw)) ** b,
    "halsey": lambda aw, t, a, b: (-a / mpmath.log(aw)) ** (1 / b),
    "henderson": lambda aw, t, a, b: (-mpmath.log(1 - aw) / a) ** (1 / b),
    "chung_pfost": lambda aw, t, a, b: -mpmath.log(-mpmath.log(aw) / a) / b,
    "smith": lambda aw, t, a, b: a - b * mpmath.log(1 - aw),
    "peleg": lambda aw, t, a, b, c, d: a * aw**c + b * aw**d,
    "iglesias_chirife": lambda aw, t, a, b: a + b * aw / (1 - aw),
    "caurie": lambda aw, t, a, b: mpmath.exp(a + b * aw),
    "lewicki": lambda aw, t, f, g, h: f * (1 / (1 - aw) ** g - 1 / (1 + aw**h)),
    "linear": lambda aw, t, a, c: a * aw + c,
    # the other papers, and the grain standard with M in % dry basis
    "ferro_fontan": lambda aw, t, gamma, alpha, r: (mpmath.log(gamma / aw) / alpha) ** (-1 / r),
    "hailwood_horrobin": lambda aw, t, w, k, k1: 18 / w * (k * aw / (1 - k * aw) + k1 * k * aw / (1 + k1 * k * aw)),
    "hailwood_horrobin_two": lambda aw, t, w, k, k1, k2: (
        18
        / w
        * (
            k * aw / (1 - k * aw)
            + (k1 * k * aw + 2 * k1 * k2 * (k * aw) ** 2) / (1 + k1 * k * aw + k1 * k2 * (k * aw) ** 2)
        )
    ),
    "modified_henderson": lambda aw, t, a, b, c: (-mpmath.log(1 - aw) / (a * (t + c))) ** (1 / b) / 100,
    "modified_chung_pfost": lambda aw, t, a, b, c: -mpmath.log(-(t + c) * mpmath.log(aw) / a) / b / 100,
    "modified_oswin": lambda aw, t, a, b, c: (a + b * t) * (aw / (1 - aw)) ** (1 / c) / 100,
    "modified_halsey": lambda aw, t, a, b, c: (mpmath.exp(a + b * t) / -mpmath.log(aw)) ** (1 / c) / 100,
    "oswin_linear": lambda aw, t, a0, a1, b0, b1: (a0 + a1 * t) * (aw / (1 - aw)) ** (b0 + b1 * t),
    "gab_arrhenius": lambda aw, t, m, mh, c, ch, k, kh: _gab(
        aw, *(x * mpmath.exp(h / (R * (t + mpmath.mpf("273.15")))) for x, h in ((m, mh), (c, ch), (k, kh)))
    ),
}

# Printed parameters as food, grain and wood have them.
PLAUSIBLE: dict[str, tuple[tuple[float, float], ...]] = {
    "gab": ((0.02, 0.15), (0.5, 100.0), (0.4, 0.999)),
    "bet": ((0.02, 0.15), (0.5, 100.0)),
    "oswin": ((0.02, 0.3), (0.1, 0.9)),
    "halsey": ((1e-4, 0.4), (0.6, 4.0)),
    "henderson": ((1.0, 200.0), (0.5, 3.0)),
    "chung_pfost": ((1.0, 10.0), (5.0, 40.0)),
    "smith": ((-0.05, 0.1), (0.02, 0.3)),
    "peleg": ((0.02, 0.3), (0.02, 0.5), (0.1, 0.95), (1.05, 20.0)),
    "iglesias_chirife": ((-0.05, 0.1), (0.01, 0.2)),
    "caurie": ((-5.0, -1.5), (0.5, 5.0)),
    "lewicki": ((0.02, 0.3), (0.05, 0.95), (0.1, 60.0)),
    "linear": ((0.05, 0.4), (-0.02, 0.05)),
    "ferro_fontan": ((1.0, 1.3), (1e-4, 0.4), (0.6, 4.0)),
    "hailwood_horrobin": ((150.0, 700.0), (0.4, 0.95), (0.5, 60.0)),
    "hailwood_horrobin_two": ((150.0, 700.0), (0.4, 0.95), (0.5, 60.0), (0.1, 20.0)),
    "modified_henderson": ((8e-6, 7e-4), (1.2, 2.6), (20.0, 260.0)),
    "modified_chung_pfost": ((300.0, 1000.0), (0.1, 0.3), (20.0, 120.0)),
    "modified_oswin": ((5.0, 15.0), (-0.08, -0.01), (1.5, 4.0)),
    "modified_halsey": ((2.0, 4.0), (-0.02, 0.0), (1.0, 3.0)),
    "oswin_linear": ((0.1, 0.2), (-0.0016, 0.0003), (0.08, 0.45), (-0.001, 0.0085)),
    "gab_arrhenius": ((0.01, 0.06), (1.0, 2.0), (0.01, 0.1), (10.0, 16.0), (0.8, 0.95), (-2.0, 0.1)),
}

BY_KEY = {module.MODEL.key: module for module in MODULES}
EACH = pytest.mark.parametrize("key", sorted(BY_KEY))
SETTINGS = settings(derandomize=True, max_examples=25, deadline=None)
FRACTION = st.floats(0.0, 1.0)


def _between(low: float, high: float, share: float) -> float:
    return low + share * (high - low)


def _printed(key: str, data: st.DataObject) -> np.ndarray:
    return np.array([_between(low, high, data.draw(FRACTION)) for low, high in PLAUSIBLE[key]])


def _place(module: ModuleType, data: st.DataObject) -> tuple[float, float]:
    """An a_w inside the model's range and a temperature, degC."""
    low, high = module.MODEL.valid_a_w
    return _between(max(low, 0.03), min(high, 0.97), data.draw(FRACTION)), _between(5.0, 60.0, data.draw(FRACTION))


def _coordinates(module: ModuleType, data: st.DataObject) -> tuple[np.ndarray, np.ndarray]:
    """Linear coefficients, and nonlinear coordinates inside the span of the starts."""
    model = module.MODEL
    starts = np.array(model.starts).reshape(len(model.starts), model.nonlinear)
    theta = [_between(starts[:, h].min(), starts[:, h].max(), data.draw(FRACTION)) for h in range(model.nonlinear)]
    return np.array([_between(0.02, 0.3, data.draw(FRACTION)) for _ in range(model.linear)]), np.array(theta)


def _curve(module: ModuleType, a: float, t: float, p: np.ndarray) -> np.ndarray:
    out = np.full(2 + p.size, math.nan)
    module.curve.py_func(a, t + 273.15, p, out)
    return out


def _rows(module: ModuleType, a: np.ndarray, t: np.ndarray, theta: np.ndarray) -> np.ndarray:
    """The functions and their derivatives as the solver sees them: rows of (1 + q) blocks of p."""
    model = module.MODEL
    g = np.full((model.features, a.size), math.nan)
    module.features.py_func(a, t + 273.15, g)
    rows = np.full(((1 + model.nonlinear) * model.linear, a.size), math.nan)
    module.basis.py_func(g, theta, rows)
    return rows.reshape(1 + model.nonlinear, model.linear, a.size)


def _natural(module: ModuleType, c: np.ndarray, theta: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    size = c.size + theta.size
    p, dp = np.zeros(size), np.zeros((size, size))
    module.natural.py_func(c, theta, p, dp)
    return p, dp


def test_every_model_has_a_twin_here() -> None:
    assert set(TWINS) == set(PLAUSIBLE) == set(BY_KEY)


@EACH
@SETTINGS
@given(data=st.data())
def test_curve_is_the_printed_equation(key: str, data: st.DataObject) -> None:
    module, p = BY_KEY[key], _printed(key, data)
    a, t = _place(module, data)
    with mpmath.workdps(30):
        moisture = float(TWINS[key](mpmath.mpf(a), mpmath.mpf(t), *map(mpmath.mpf, p)))
        size = max(abs(moisture), 1e-3)
    assert _curve(module, a, t, p)[0] == pytest.approx(moisture, rel=1e-11, abs=1e-12 * size)


@EACH
@SETTINGS
@given(data=st.data())
def test_slope_and_derivatives_are_those_of_the_printed_equation(key: str, data: st.DataObject) -> None:
    module, p = BY_KEY[key], _printed(key, data)
    a, t = _place(module, data)
    out = _curve(module, a, t, p)
    with mpmath.workdps(30):
        exact = [mpmath.mpf(a), mpmath.mpf(t), *map(mpmath.mpf, p)]
        for place, number in ((0, out[1]), *((2 + i, out[2 + i]) for i in range(p.size))):

            def along(x: float, place: int = place) -> float:
                return TWINS[key](*(x if i == place else each for i, each in enumerate(exact)))

            expected = float(mpmath.diff(along, exact[place]))
            assert number == pytest.approx(expected, rel=1e-9, abs=1e-12), f"argument {place}"


@EACH
@SETTINGS
@given(data=st.data())
def test_the_sum_of_functions_is_the_curve(key: str, data: st.DataObject) -> None:
    module = BY_KEY[key]
    c, theta = _coordinates(module, data)
    p, _ = _natural(module, c, theta)
    low, high = module.MODEL.valid_a_w
    a, t = np.linspace(max(low, 0.05), min(high, 0.95), 7), np.linspace(5.0, 60.0, 7)
    total = np.einsum("j,ji->i", c, _rows(module, a, t, theta)[0])
    curve = [_curve(module, a[i], t[i], p)[0] for i in range(7)]
    np.testing.assert_allclose(total, curve, rtol=1e-9, atol=1e-12 * np.max(np.abs(total)))


@EACH
@SETTINGS
@given(data=st.data())
def test_printed_parameters_move_with_the_coordinates_as_stated(key: str, data: st.DataObject) -> None:
    module = BY_KEY[key]
    c, theta = _coordinates(module, data)
    p, dp = _natural(module, c, theta)
    for column in range(c.size + theta.size):
        step = 1e-6 * max(abs(np.concatenate([c, theta])[column]), 1e-3)
        ends = []
        for sign in (1.0, -1.0):
            moved = np.concatenate([c, theta])
            moved[column] += sign * step
            ends.append(_natural(module, moved[: c.size], moved[c.size :])[0])
        difference = (ends[0] - ends[1]) / (2.0 * step)
        scale = np.abs(p) / step * 1e-15  # what rounding leaves of a difference
        allowed = 1e-5 * np.abs(difference) + 20.0 * scale + 1e-9
        np.testing.assert_array_less(np.abs(dp[:, column] - difference), allowed)


@EACH
@SETTINGS
@given(data=st.data())
def test_functions_move_with_the_coordinates_as_stated(key: str, data: st.DataObject) -> None:
    module = BY_KEY[key]
    _, theta = _coordinates(module, data)
    low, high = module.MODEL.valid_a_w
    a, t = np.linspace(max(low, 0.05), min(high, 0.95), 7), np.linspace(5.0, 60.0, 7)
    rows = _rows(module, a, t, theta)
    for h in range(theta.size):
        step = 1e-6 * max(abs(theta[h]), 1e-2)
        up, down = theta.copy(), theta.copy()
        up[h] += step
        down[h] -= step
        difference = (_rows(module, a, t, up)[0] - _rows(module, a, t, down)[0]) / (2.0 * step)
        rounding = 1e-15 * (1.0 + np.abs(rows[0])) / step
        allowed = 1e-5 * np.abs(difference) + 20.0 * rounding + 1e-12
        np.testing.assert_array_less(np.abs(rows[1 + h] - difference), allowed)


NO_CLOSED_INVERSE = {"peleg", "lewicki", "hailwood_horrobin_two"}


@EACH
@SETTINGS
@given(data=st.data())
def test_inverse_gives_the_water_activity_back(key: str, data: st.DataObject) -> None:
    module, p = BY_KEY[key], _printed(key, data)
    a, t = _place(module, data)
    found = module.inverse.py_func(_curve(module, a, t, p)[0], t + 273.15, p)
    if key in NO_CLOSED_INVERSE:
        assert math.isnan(found)
    else:
        assert found == pytest.approx(a, rel=1e-8)


@EACH
def test_nothing_is_missing_at_the_ends_of_the_range(key: str) -> None:
    module = BY_KEY[key]
    model = module.MODEL
    a = np.array(model.valid_a_w)
    for start in model.starts:
        assert np.all(np.isfinite(_rows(module, a, np.array([25.0, 25.0]), np.array(start)))), start

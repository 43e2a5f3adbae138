"""Hailwood and Horrobin with two hydrates, the equation of the wood handbook.

The handbook prints its four constants as quadratics of temperature, twelve numbers for one material: a curve to be
looked up and not one to be fitted. So the model here is the equation at one temperature with its four constants; the
handbook's curve is this equation with the constants of that temperature.
"""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_WATER = 18.0  # g/mol, rounded as the equation is printed
_SMALL = 1e-6

MODEL = Model(
    name="Hailwood-Horrobin, two hydrates",
    key="hailwood_horrobin_two",
    equation="X = (18 / W) (K a / (1 - K a) + (K1 K a + 2 K1 K2 K^2 a^2) / (1 + K1 K a + K1 K2 K^2 a^2))",
    parameters=(
        Parameter("w", "g/mol", "mass of dry matter that has one mole of sites", 0.0, open_low=True),
        Parameter("k", "1", "activity of dissolved water against liquid water", 0.0, 1.0, open_low=True),
        Parameter("k1", "1", "equilibrium of the first hydrate", 0.0, open_low=True),
        Parameter("k2", "1", "equilibrium of the second hydrate", 0.0, open_low=True),
    ),
    valid_a_w=(0.0, 0.99),
    source="Simpson1998",
    where="the equation and its constants at 21.1 degC",
    verified="text",
    linear=1,
    features=1,
    theta_low=(_SMALL, _SMALL, _SMALL),  # K, and K1/(1 + K1), K2/(1 + K2)
    theta_high=(1.0, 1.0 - _SMALL, 1.0 - _SMALL),
    theta_wide_low=(_SMALL, _SMALL, _SMALL),
    theta_wide_high=(10.0, 1.0 - _SMALL, 1.0 - _SMALL),
    positive=(True,),
    axes=((0.5, 0.75, 0.9, 0.98), (0.2, 0.8, 0.97), (0.05, 0.5, 0.9)),
    every=True,
    followed=5,
    worked=((382.25, 0.8193, 5.937, 2.639), 0.4, 0.0770),
    worked_where="the handbook prints 7.7 % at 70 degF and 40 % humidity; its constants of that temperature, rounded",
    notes=("With k2 at its lower bound it is the equation of one hydrate.",),
)


@inlined
def features(a, t, g):
    """The equation needs a_w as it is."""
    for i in range(a.size):
        g[0, i] = a[i]


@inlined
def basis(g, theta, rows):
    """X = c_1 (u/(1 - u) + hydrates), u = K a; K1 and K2 as shares of one, smooth to both ends."""
    k, first, second = theta[0], theta[1], theta[2]
    for i in range(g.shape[1]):
        a = g[0, i]
        u = k * a
        free = 1.0 / (1.0 - u)
        one, two = first * (1.0 - second) * u, first * second * u * u
        whole = 1.0 / ((1.0 - first) * (1.0 - second) + one + two)
        bound = (one + 2.0 * two) * whole
        rows[0, i] = u * free + bound
        lone, pair = first * (1.0 - second), first * second * u
        rows[1, i] = a * (free * free + (lone + 4.0 * pair - bound * (lone + 2.0 * pair)) * whole)
        top, bottom = (1.0 - second) * u + 2.0 * second * u * u, (1.0 - second) * (u - 1.0) + second * u * u
        rows[2, i] = (top - bound * bottom) * whole
        top, bottom = first * u * (2.0 * u - 1.0), first * (1.0 - u + u * u) - 1.0
        rows[3, i] = (top - bound * bottom) * whole


@inlined
def natural(c, theta, p, dp):
    """W = 18/c_1, K, K1 = first/(1 - first), K2 = second/(1 - second)."""
    p[0] = _WATER / c[0]
    p[1] = theta[0]
    dp[0, 0] = -p[0] / c[0]
    dp[1, 1] = 1.0
    for h in range(1, 3):
        p[1 + h] = theta[h] / (1.0 - theta[h])
        dp[1 + h, 1 + h] = 1.0 / (1.0 - theta[h]) ** 2


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by W, K, K1 and K2."""
    scale, u, k1, k2 = _WATER / p[0], p[1] * a, p[2], p[3]
    free = 1.0 / (1.0 - u)
    whole = 1.0 / (1.0 + k1 * u + k1 * k2 * u * u)
    bound = (k1 * u + 2.0 * k1 * k2 * u * u) * whole
    x = scale * (u * free + bound)
    by_u = scale * (free * free + (k1 + 4.0 * k1 * k2 * u - bound * (k1 + 2.0 * k1 * k2 * u)) * whole)
    out[0] = x
    out[1] = by_u * p[1]
    out[2] = -x / p[0]
    out[3] = by_u * a
    out[4] = scale * (u + 2.0 * k2 * u * u) * whole * whole
    out[5] = scale * k1 * u * u * (2.0 - bound) * whole


@inlined
def inverse(x, t, p):
    """No closed form: it is a cubic."""
    return math.nan

"""Hailwood and Horrobin with one hydrate: water bound to sites of a polymer, and water dissolved in it.

It is GAB in other constants: W = 18/Xm, K1 = C - 1 with C not below 1. It stands here because wood and fibre data are
printed so. With two hydrates it is another curve, see hailwood_horrobin_two.py.
"""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_WATER = 18.0  # g/mol, rounded as the equation is printed
_SMALL = 1e-6

MODEL = Model(
    name="Hailwood-Horrobin",
    key="hailwood_horrobin",
    equation="X = (18 / W) (K a / (1 - K a) + K1 K a / (1 + K1 K a))",
    parameters=(
        Parameter("w", "g/mol", "mass of dry matter that has one mole of sites", 0.0, open_low=True),
        Parameter("k", "1", "activity of dissolved water against liquid water", 0.0, 1.0, open_low=True),
        Parameter("k1", "1", "equilibrium of hydrate and dissolved water", 0.0, open_low=True),
    ),
    valid_a_w=(0.0, 0.99),
    source="HailwoodHorrobin1946",
    where="one hydrate",
    verified="memory",
    linear=1,
    features=1,
    theta_low=(_SMALL, _SMALL),  # v = 1/(2 + K1), and K
    theta_high=(0.5, 1.0),
    theta_wide_low=(_SMALL, _SMALL),
    theta_wide_high=(1.0 - _SMALL, 10.0),
    positive=(True,),
    axes=((0.002, 0.02, 0.08, 0.2, 0.35, 0.48), (0.3, 0.6, 0.8, 0.92, 0.985)),
    worked=((300.0, 0.8, 5.0), 0.5, 0.08),
    worked_where="by hand: 0.06 x (0.4 / 0.6 + 2 / 3)",
    notes=("The same curve as GAB with a monolayer of 18/W and C = K1 + 1.",),
)


@inlined
def features(a, t, g):
    """The equation needs a_w as it is."""
    for i in range(a.size):
        g[0, i] = a[i]


@inlined
def basis(g, theta, rows):
    """X = c_1 K a / ((1 - K a)(v + (1 - 2 v) K a)), v = 1/(2 + K1): smooth to both ends of K1."""
    v, k = theta[0], theta[1]
    for i in range(g.shape[1]):
        a = g[0, i]
        ka = k * a
        free = 1.0 / (1.0 - ka)
        bound = 1.0 / (v + (1.0 - 2.0 * v) * ka)
        value = ka * free * bound
        rows[0, i] = value
        rows[1, i] = -value * (1.0 - 2.0 * ka) * bound
        rows[2, i] = a * free * bound + value * a * (free - (1.0 - 2.0 * v) * bound)


@inlined
def natural(c, theta, p, dp):
    """W = 18 (1 - v)/c_1, K, K1 = 1/v - 2."""
    v = theta[0]
    p[0] = _WATER * (1.0 - v) / c[0]
    p[1] = theta[1]
    p[2] = 1.0 / v - 2.0
    dp[0, 0] = -p[0] / c[0]
    dp[0, 1] = -_WATER / c[0]
    dp[1, 2] = 1.0
    dp[2, 1] = -1.0 / (v * v)


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by W, K and K1."""
    scale, u = _WATER / p[0], p[1] * a
    free, bound = 1.0 / (1.0 - u), 1.0 / (1.0 + p[2] * u)
    x = scale * (u * free + p[2] * u * bound)
    by_u = scale * (free * free + p[2] * bound * bound)
    out[0] = x
    out[1] = by_u * p[1]
    out[2] = -x / p[0]
    out[3] = by_u * a
    out[4] = scale * u * bound * bound


@inlined
def inverse(x, t, p):
    """The lower root of the quadratic in K a."""
    share, k1 = x * p[0] / _WATER, p[2]
    # share (1 - u)(1 + k1 u) = (1 + k1) u
    quadratic = -k1 * share
    middle = (k1 - 1.0) * share - 1.0 - k1
    if abs(quadratic) < 1e-14 * abs(middle):
        return -share / middle / p[1]
    root = math.sqrt(middle * middle - 4.0 * quadratic * share)
    # the stable form of the root that goes to zero with x
    return 2.0 * share / (-middle + root) / p[1]

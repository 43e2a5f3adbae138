"""BET: Brunauer, Emmett and Teller, GAB without its third constant; it holds for the first layers only."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_SMALL = 1e-10  # v = 1/(1 + C) between it and 1 - it: C up to 1e10

MODEL = Model(
    name="BET",
    key="bet",
    equation="X = Xm C a / ((1 - a)(1 - a + C a))",
    parameters=(
        Parameter("monolayer_db", "kg/kg", "moisture of one layer of water, dry basis", 0.0, open_low=True),
        Parameter("c", "1", "how much tighter the first layer is held", 0.0, open_low=True),
    ),
    valid_a_w=(0.0, 0.5),
    source="BrunauerEmmettTeller1938",
    where="eq. 28, the sum over endless layers",
    verified="memory",
    linear=1,
    features=2,
    theta_low=(_SMALL,),
    theta_high=(1.0 - _SMALL,),
    theta_wide_low=(-0.02,),  # C below -1: the pole at a = v/(2 v - 1) stays under a = 0.02
    theta_wide_high=(1.0 - _SMALL,),
    positive=(True,),
    axes=((1e-4, 0.005, 0.02, 0.05, 0.1, 0.2, 0.4, 0.7, 0.95),),
    worked=((0.06, 12.0), 0.3, 0.0717608),
    worked_where="by hand: 0.06 x 12 x 0.3 / (0.7 x (0.7 + 3.6)) = 0.216 / 3.01",
    notes=("BET is fitted to points up to a_w 0.5 only, whatever else was measured.",),
)


@inlined
def features(a, t, g):
    """The a_w, and a/(1 - a)."""
    for i in range(a.size):
        g[0, i] = a[i]
        g[1, i] = a[i] / (1.0 - a[i])


@inlined
def basis(g, theta, rows):
    """X = c_1 (a/(1 - a)) / (v + (1 - 2 v) a), v = 1/(1 + C): smooth to both ends of C."""
    v = theta[0]
    for i in range(g.shape[1]):
        a = g[0, i]
        bound = 1.0 / (v + (1.0 - 2.0 * v) * a)
        value = g[1, i] * bound
        rows[0, i] = value
        rows[1, i] = -value * (1.0 - 2.0 * a) * bound


@inlined
def natural(c, theta, p, dp):
    """monolayer = c_1/(1 - v), C = (1 - v)/v."""
    v = theta[0]
    p[0] = c[0] / (1.0 - v)
    p[1] = (1.0 - v) / v
    dp[0, 0] = 1.0 / (1.0 - v)
    dp[0, 1] = c[0] / (1.0 - v) ** 2
    dp[1, 1] = -1.0 / (v * v)


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by monolayer and C."""
    m, c = p[0], p[1]
    free, bound = 1.0 - a, 1.0 - a + c * a
    x = m * c * a / (free * bound)
    out[0] = x
    out[1] = m * c * (1.0 + (c - 1.0) * a * a) / (free * bound) ** 2
    out[2] = x / m
    out[3] = m * a / (bound * bound)


@inlined
def inverse(x, t, p):
    """The lower root of the quadratic that BET is in a."""
    m, c = p[0], p[1]
    # x (1 - a)(1 + (c - 1) a) = m c a
    quadratic = -(c - 1.0) * x
    middle = (c - 2.0) * x - m * c
    if abs(quadratic) < 1e-14 * abs(middle):
        return -x / middle
    root = math.sqrt(middle * middle - 4.0 * quadratic * x)
    # the stable form of the root that goes to zero with x
    return 2.0 * x / (-middle + root)

"""GAB: Guggenheim, Anderson and de Boer, the three-constant isotherm of food."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_SMALL = 1e-10  # v = 1/(1 + C) between it and 1 - it: C up to 1e10

MODEL = Model(
    name="GAB",
    key="gab",
    equation="X = Xm C K a / ((1 - K a)(1 - K a + C K a))",
    parameters=(
        Parameter("monolayer_db", "kg/kg", "moisture of one layer of water, dry basis", 0.0, open_low=True),
        Parameter("c", "1", "how much tighter the first layer is held", 0.0, open_low=True),
        Parameter("k", "1", "activity of the layers above against liquid water", 0.0, 1.0, open_low=True),
    ),
    valid_a_w=(0.0, 0.99),
    source="BlahovecYanniotis2009",
    where="eq. 1",
    verified="memory",
    linear=1,
    features=1,
    theta_low=(_SMALL, 1e-6),
    theta_high=(1.0 - _SMALL, 1.0),
    theta_wide_low=(_SMALL, 1e-6),
    theta_wide_high=(1.0 - _SMALL, 1.11),
    scales_a_w="k",
    positive=(True,),
    axes=((0.008, 0.06, 0.2, 0.6), (0.4, 0.7, 0.85, 0.95, 0.99)),
    worked=((0.06, 12.0, 0.95), 0.5, 0.1046),
)


@inlined
def features(a, t, g):
    """The equation needs a_w as it is."""
    for i in range(a.size):
        g[0, i] = a[i]


@inlined
def basis(g, theta, rows):
    """X = (Xm C/(1 + C)) K a / ((1 - K a)(v + (1 - 2 v) K a)), v = 1/(1 + C): smooth to both ends of C."""
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
    """monolayer = c_1/(1 - v), C = (1 - v)/v, K."""
    v = theta[0]
    p[0] = c[0] / (1.0 - v)
    p[1] = (1.0 - v) / v
    p[2] = theta[1]
    dp[0, 0] = 1.0 / (1.0 - v)
    dp[0, 1] = c[0] / (1.0 - v) ** 2
    dp[1, 1] = -1.0 / (v * v)
    dp[2, 2] = 1.0


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by monolayer, C and K."""
    m, c, k = p[0], p[1], p[2]
    u = k * a
    free, bound = 1.0 - u, 1.0 - u + c * u
    x = m * c * u / (free * bound)
    by_u = m * c * (1.0 + (c - 1.0) * u * u) / (free * bound) ** 2
    out[0] = x
    out[1] = by_u * k
    out[2] = x / m
    out[3] = m * u / (bound * bound)
    out[4] = by_u * a


@inlined
def inverse(x, t, p):
    """The lower root of the quadratic that GAB is in K a."""
    m, c, k = p[0], p[1], p[2]
    # x (1 - u)(1 + (c - 1) u) = m c u
    quadratic = -(c - 1.0) * x
    middle = (c - 2.0) * x - m * c
    if abs(quadratic) < 1e-14 * abs(middle):
        return -x / middle / k
    root = math.sqrt(middle * middle - 4.0 * quadratic * x)
    # the stable form of the root that goes to zero with x
    return 2.0 * x / (-middle + root) / k

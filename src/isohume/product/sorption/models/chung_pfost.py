"""Chung and Pfost: the free energy of sorption falls exponentially with moisture; at one temperature."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

MODEL = Model(
    name="Chung-Pfost",
    key="chung_pfost",
    equation="X = -ln(-ln(a) / A) / B",
    parameters=(
        Parameter("a", "1", "how strongly dry matter holds water, -ln a_w at no moisture", 0.0, open_low=True),
        Parameter("b", "1/(kg/kg)", "how fast the hold falls with moisture", 0.0, open_low=True),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="ChungPfost1967",
    where="with the temperature taken into A",
    verified="memory",
    linear=2,
    features=1,
    positive=(False, True),
    worked=((4.0, 15.0), 0.5, 0.1168538),
    worked_where="by hand: -ln(0.6931472 / 4) / 15 = 1.752807 / 15",
    notes=("Usual range of use: a_w 0.2 to 0.9. Below the a_w where -ln a_w is A it gives a negative moisture.",),
)


@inlined
def features(a, t, g):
    """-ln(-ln a)."""
    for i in range(a.size):
        g[0, i] = -math.log(-math.log(a[i]))


@inlined
def basis(g, theta, rows):
    """X = c_1 - c_2 ln(-ln a)."""
    for i in range(g.shape[1]):
        rows[0, i] = 1.0
        rows[1, i] = g[0, i]


@inlined
def natural(c, theta, p, dp):
    """A = exp(c_1/c_2), B = 1/c_2."""
    p[0] = math.exp(c[0] / c[1])
    p[1] = 1.0 / c[1]
    dp[0, 0] = p[0] / c[1]
    dp[0, 1] = -p[0] * c[0] / (c[1] * c[1])
    dp[1, 1] = -1.0 / (c[1] * c[1])


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A and B."""
    hold = -math.log(a)
    x = -math.log(hold / p[0]) / p[1]
    out[0] = x
    out[1] = 1.0 / (p[1] * a * hold)
    out[2] = 1.0 / (p[0] * p[1])
    out[3] = -x / p[1]


@inlined
def inverse(x, t, p):
    """a = exp(-A exp(-B X))."""
    return math.exp(-p[0] * math.exp(-p[1] * x))

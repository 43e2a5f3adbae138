"""Oswin: a power of a/(1 - a), good for starchy food and meat in the middle of the range."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.exponential import exponential
from isohume.product.sorption.model import Model, Parameter

MODEL = Model(
    name="Oswin",
    key="oswin",
    equation="X = A (a / (1 - a))^B",
    parameters=(
        Parameter("a", "kg/kg", "moisture at a_w 0.5", 0.0, open_low=True),
        Parameter("b", "1", "how steeply moisture rises", 0.0, open_low=True),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="Oswin1946",
    where="the equation fitted in the paper",
    verified="memory",
    linear=1,
    features=1,
    theta_low=(1e-6,),
    theta_high=(20.0,),
    theta_wide_low=(-20.0,),
    theta_wide_high=(20.0,),
    positive=(True,),
    axes=((0.05, 0.15, 0.3, 0.45, 0.6, 0.9, 1.5, 3.0, 8.0),),
    worked=((0.1, 0.5), 0.8, 0.2),
    worked_where="by hand: 0.1 x (0.8 / 0.2)^0.5",
    notes=("Usual range of use: a_w 0.05 to 0.95.",),
)


@inlined
def features(a, t, g):
    """ln(a/(1 - a))."""
    for i in range(a.size):
        g[0, i] = math.log(a[i] / (1.0 - a[i]))


@inlined
def basis(g, theta, rows):
    """X = c_1 exp(B ln(a/(1 - a)))."""
    b = theta[0]
    for i in range(g.shape[1]):
        value = exponential(b * g[0, i])
        rows[0, i] = value
        rows[1, i] = value * g[0, i]


@inlined
def natural(c, theta, p, dp):
    """A = c_1, B."""
    p[0], p[1] = c[0], theta[0]
    dp[0, 0] = 1.0
    dp[1, 1] = 1.0


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A and B."""
    log = math.log(a / (1.0 - a))
    power = math.exp(p[1] * log)
    x = p[0] * power
    out[0] = x
    out[1] = x * p[1] / (a * (1.0 - a))
    out[2] = power
    out[3] = x * log


@inlined
def inverse(x, t, p):
    """a = r/(1 + r), r = (X/A)^(1/B)."""
    r = (x / p[0]) ** (1.0 / p[1])
    return 1.0 / (1.0 + 1.0 / r)

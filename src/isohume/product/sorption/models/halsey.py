"""Halsey: condensation of layers at some distance from the surface, where the hold falls with a power of distance."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.exponential import exponential
from isohume.product.sorption.model import Model, Parameter

MODEL = Model(
    name="Halsey",
    key="halsey",
    equation="X = (-A / ln a)^(1/B)",
    parameters=(
        Parameter("a", "(kg/kg)^B", "how strongly water is held", 0.0, open_low=True),
        Parameter("b", "1", "how fast the hold falls with the distance from the surface", 0.0, open_low=True),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="Halsey1948",
    where="with the temperature taken into A, as food work writes it",
    verified="memory",
    linear=1,
    features=1,
    # 1/B: above B = 100 moisture hardly changes with a_w, and A runs out of the numbers a machine has
    theta_low=(0.01,),
    theta_high=(30.0,),
    theta_wide_low=(0.01,),
    theta_wide_high=(30.0,),
    positive=(True,),
    axes=((0.05, 0.15, 0.3, 0.5, 0.7, 1.0, 1.6, 3.0, 8.0),),
    worked=((0.02, 1.5), 0.5, 0.094074),
    worked_where="by hand: (0.02 / 0.6931472)^(2/3)",
    notes=("Usual range of use: a_w 0.1 to 0.8.",),
)


@inlined
def features(a, t, g):
    """-ln(-ln a)."""
    for i in range(a.size):
        g[0, i] = -math.log(-math.log(a[i]))


@inlined
def basis(g, theta, rows):
    """X = c_1 (-ln a)^(-e), e = 1/B."""
    e = theta[0]
    for i in range(g.shape[1]):
        value = exponential(e * g[0, i])
        rows[0, i] = value
        rows[1, i] = value * g[0, i]


@inlined
def natural(c, theta, p, dp):
    """A = c_1^(1/e), B = 1/e."""
    e, log = theta[0], math.log(c[0])
    p[0] = math.exp(log / e)
    p[1] = 1.0 / e
    dp[0, 0] = p[0] / (e * c[0])
    dp[0, 1] = -p[0] * log / (e * e)
    dp[1, 1] = -1.0 / (e * e)


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A and B."""
    hold = -math.log(a)
    log = math.log(p[0] / hold)
    x = math.exp(log / p[1])
    out[0] = x
    out[1] = x / (p[1] * a * hold)
    out[2] = x / (p[1] * p[0])
    out[3] = -x * log / (p[1] * p[1])


@inlined
def inverse(x, t, p):
    """a = exp(-A X^(-B))."""
    return math.exp(-p[0] * x ** -p[1])

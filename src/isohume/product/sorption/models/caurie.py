"""Caurie: moisture rises exponentially with a_w."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.exponential import exponential
from isohume.product.sorption.model import Model, Parameter

MODEL = Model(
    name="Caurie",
    key="caurie",
    equation="X = exp(A + B a)",
    parameters=(
        Parameter("a", "1", "logarithm of the moisture (kg/kg) at no a_w, by extrapolation"),
        Parameter("b", "1", "how steeply the logarithm of moisture rises", 0.0, open_low=True),
    ),
    valid_a_w=(0.0, 1.0),
    source="Caurie1970",
    where="the linear relation of ln X and a_w",
    verified="memory",
    linear=1,
    features=1,
    theta_low=(1e-6,),
    theta_high=(100.0,),
    theta_wide_low=(-100.0,),
    theta_wide_high=(100.0,),
    positive=(True,),
    axes=((0.2, 0.8, 1.6, 2.5, 4.0, 6.0, 10.0, 20.0),),
    worked=((-3.0, 2.0), 0.5, 0.1353353),
    worked_where="by hand: exp(-2)",
    notes=("Usual range of use: a_w 0 to 0.85.",),
)


@inlined
def features(a, t, g):
    """The equation needs a_w as it is."""
    for i in range(a.size):
        g[0, i] = a[i]


@inlined
def basis(g, theta, rows):
    """X = c_1 exp(B a)."""
    b = theta[0]
    for i in range(g.shape[1]):
        value = exponential(b * g[0, i])
        rows[0, i] = value
        rows[1, i] = value * g[0, i]


@inlined
def natural(c, theta, p, dp):
    """A = ln c_1, B."""
    p[0], p[1] = math.log(c[0]), theta[0]
    dp[0, 0] = 1.0 / c[0]
    dp[1, 1] = 1.0


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A and B."""
    x = math.exp(p[0] + p[1] * a)
    out[0] = x
    out[1] = x * p[1]
    out[2] = x
    out[3] = x * a


@inlined
def inverse(x, t, p):
    """a = (ln X - A)/B."""
    return (math.log(x) - p[0]) / p[1]

"""Modified Halsey: Halsey's equation over temperature as the grain standard prints it, for oilseeds."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.exponential import exponential
from isohume.product.sorption.model import Model, Parameter

_ICE = 273.15
_MIDDLE = 25.0  # degC; the scale of moisture is sought here, in the middle of the temperatures, where it is best known

MODEL = Model(
    name="Modified Halsey",
    key="modified_halsey",
    equation="a = exp(-exp(A + B t) M^-C), M = 100 X in % dry basis, t in degC",
    parameters=(
        Parameter("a", "1", "logarithm of how strongly water is held at 0 degC; moisture is taken in % dry basis"),
        Parameter("b", "1/degC", "how that logarithm moves with temperature"),
        Parameter("c", "1", "how fast the hold falls with moisture", 0.0, open_low=True),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="ASAED245",
    where="eq. of modified Halsey",
    verified="memory",
    linear=1,
    features=2,
    theta_low=(0.01, -0.2),  # 1/C, and B/C
    theta_high=(30.0, 0.2),
    theta_wide_low=(0.01, -0.2),
    theta_wide_high=(30.0, 0.2),
    positive=(True,),
    axes=((0.1, 0.25, 0.45, 0.7, 1.1, 2.0, 5.0), (-0.02, -0.007, -0.002, 0.003)),
    needs_temperature=True,
    worked=((2.87, -0.0054, 1.38), 0.5, 0.0946379),
    worked_where="at 25 degC with the standard's constants of soybean: (exp(2.735) / 0.6931472)^(1/1.38) %",
)


@inlined
def features(a, t, g):
    """-ln(-ln a), and degrees above 25 degC."""
    for i in range(a.size):
        g[0, i] = -math.log(-math.log(a[i]))
        g[1, i] = t[i] - _ICE - _MIDDLE


@inlined
def basis(g, theta, rows):
    """X = c_1 exp(-e ln(-ln a) + s (t - 25)), e = 1/C, s = B/C."""
    e, s = theta[0], theta[1]
    for i in range(g.shape[1]):
        value = exponential(e * g[0, i] + s * g[1, i])
        rows[0, i] = value
        rows[1, i] = value * g[0, i]
        rows[2, i] = value * g[1, i]


@inlined
def natural(c, theta, p, dp):
    """A = ln(100 c_1)/e - 25 s/e, B = s/e, C = 1/e."""
    e, s = theta[0], theta[1]
    p[0] = (math.log(100.0 * c[0]) - _MIDDLE * s) / e
    p[1] = s / e
    p[2] = 1.0 / e
    dp[0, 0] = 1.0 / (e * c[0])
    dp[0, 1] = -p[0] / e
    dp[0, 2] = -_MIDDLE / e
    dp[1, 1] = -p[1] / e
    dp[1, 2] = 1.0 / e
    dp[2, 1] = -1.0 / (e * e)


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A, B and C."""
    hold, degrees = -math.log(a), t - _ICE
    log = p[0] + p[1] * degrees - math.log(hold)
    x = 0.01 * math.exp(log / p[2])
    out[0] = x
    out[1] = x / (p[2] * a * hold)
    out[2] = x / p[2]
    out[3] = x * degrees / p[2]
    out[4] = -x * log / (p[2] * p[2])


@inlined
def inverse(x, t, p):
    """a = exp(-exp(A + B t) M^(-C))."""
    return math.exp(-math.exp(p[0] + p[1] * (t - _ICE)) * (100.0 * x) ** -p[2])

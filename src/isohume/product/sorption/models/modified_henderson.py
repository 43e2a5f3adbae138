"""Modified Henderson: Henderson's equation over temperature as the grain standard prints it."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_ICE = 273.15
_MIDDLE = 25.0  # degC; the coordinate y = 1/(C + 25) is small and smooth to no effect of temperature, y = 0

MODEL = Model(
    name="Modified Henderson",
    key="modified_henderson",
    equation="a = 1 - exp(-A (t + C) M^B), M = 100 X in % dry basis, t in degC",
    parameters=(
        Parameter("a", "1/(degC %^B)", "how weakly water is held", 0.0, open_low=True),
        Parameter("b", "1", "how flat the curve is; moisture is taken in % dry basis", 0.0, open_low=True),
        Parameter("c", "degC", "where on the temperature scale the effect starts, below zero", 0.0, open_low=True),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="ASAED245",
    where="eq. of modified Henderson",
    verified="memory",
    linear=1,
    features=2,
    theta_low=(0.01, 1e-9),  # 1/B, and 1/(C + 25)
    theta_high=(30.0, 1.0 / _MIDDLE),
    theta_wide_low=(0.01, -0.01),
    theta_wide_high=(30.0, 0.1),
    positive=(True,),
    axes=((0.1, 0.25, 0.4, 0.6, 0.9, 1.5, 3.0), (0.0005, 0.003, 0.008, 0.015)),
    needs_temperature=True,
    worked=((2.2919e-05, 2.0123, 195.267), 0.6, 0.1325991),
    worked_where="at 25 degC with the standard's constants of barley: (0.9162907 / (2.2919e-5 x 220.267))^(1/2.0123) %",
)


@inlined
def features(a, t, g):
    """ln(-ln(1 - a)), and degrees above 25 degC."""
    for i in range(a.size):
        g[0, i] = math.log(-math.log1p(-a[i]))
        g[1, i] = t[i] - _ICE - _MIDDLE


@inlined
def basis(g, theta, rows):
    """X = c_1 (-ln(1 - a) / (1 + y (t - 25)))^e, e = 1/B, y = 1/(C + 25)."""
    e, y = theta[0], theta[1]
    for i in range(g.shape[1]):
        shift = 1.0 + y * g[1, i]
        log = g[0, i] - math.log(shift)
        value = math.exp(e * log)
        rows[0, i] = value
        rows[1, i] = value * log
        rows[2, i] = -value * e * g[1, i] / shift


@inlined
def natural(c, theta, p, dp):
    """A = y (100 c_1)^(-1/e), B = 1/e, C = 1/y - 25."""
    e, y, log = theta[0], theta[1], math.log(100.0 * c[0])
    p[0] = y * math.exp(-log / e)
    p[1] = 1.0 / e
    p[2] = 1.0 / y - _MIDDLE
    dp[0, 0] = -p[0] / (e * c[0])
    dp[0, 1] = p[0] * log / (e * e)
    dp[0, 2] = p[0] / y
    dp[1, 1] = -1.0 / (e * e)
    dp[2, 2] = -1.0 / (y * y)


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A, B and C."""
    rise, warm = -math.log1p(-a), t - _ICE + p[2]
    log = math.log(rise / (p[0] * warm))
    x = 0.01 * math.exp(log / p[1])
    out[0] = x
    out[1] = x / (p[1] * (1.0 - a) * rise)
    out[2] = -x / (p[1] * p[0])
    out[3] = -x * log / (p[1] * p[1])
    out[4] = -x / (p[1] * warm)


@inlined
def inverse(x, t, p):
    """a = 1 - exp(-A (t + C) M^B)."""
    return -math.expm1(-p[0] * (t - _ICE + p[2]) * (100.0 * x) ** p[1])

"""Modified Chung-Pfost: the equation of Chung and Pfost over temperature as the grain standard prints it."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_ICE = 273.15
_MIDDLE = 25.0  # degC; the coordinate y = 1/(C + 25) is small and smooth to no effect of temperature, y = 0

MODEL = Model(
    name="Modified Chung-Pfost",
    key="modified_chung_pfost",
    equation="a = exp(-(A / (t + C)) exp(-B M)), M = 100 X in % dry basis, t in degC",
    parameters=(
        Parameter("a", "degC", "how strongly dry matter holds water", 0.0, open_low=True),
        Parameter("b", "1/%", "how fast the hold falls with moisture in % dry basis", 0.0, open_low=True),
        Parameter("c", "degC", "where on the temperature scale the effect starts, below zero", 0.0, open_low=True),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="ASAED245",
    where="eq. of modified Chung-Pfost",
    verified="memory",
    linear=2,
    features=2,
    theta_low=(1e-9,),  # 1/(C + 25)
    theta_high=(1.0 / _MIDDLE,),
    theta_wide_low=(-0.01,),
    theta_wide_high=(0.1,),
    positive=(False, True),
    axes=((0.0003, 0.001, 0.003, 0.006, 0.01, 0.015, 0.02),),
    needs_temperature=True,
    worked=((475.12, 0.14843, 71.996), 0.6, 0.1523024),
    worked_where="at 25 degC with the standard's constants of barley: -ln(0.5108256 x 96.996 / 475.12) / 0.14843 %",
)


@inlined
def features(a, t, g):
    """-ln(-ln a), and degrees above 25 degC."""
    for i in range(a.size):
        g[0, i] = -math.log(-math.log(a[i]))
        g[1, i] = t[i] - _ICE - _MIDDLE


@inlined
def basis(g, theta, rows):
    """X = c_1 - c_2 (ln(-ln a) + ln(1 + y (t - 25))), y = 1/(C + 25)."""
    y = theta[0]
    for i in range(g.shape[1]):
        shift = 1.0 + y * g[1, i]
        rows[0, i] = 1.0
        rows[1, i] = g[0, i] - math.log(shift)
        rows[2, i] = 0.0
        rows[3, i] = -g[1, i] / shift


@inlined
def natural(c, theta, p, dp):
    """A = exp(c_1/c_2)/y, B = 1/(100 c_2), C = 1/y - 25."""
    y = theta[0]
    p[0] = math.exp(c[0] / c[1]) / y
    p[1] = 0.01 / c[1]
    p[2] = 1.0 / y - _MIDDLE
    dp[0, 0] = p[0] / c[1]
    dp[0, 1] = -p[0] * c[0] / (c[1] * c[1])
    dp[0, 2] = -p[0] / y
    dp[1, 1] = -0.01 / (c[1] * c[1])
    dp[2, 2] = -1.0 / (y * y)


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A, B and C."""
    hold, warm = -math.log(a), t - _ICE + p[2]
    scale = 0.01 / p[1]
    x = -scale * math.log(hold * warm / p[0])
    out[0] = x
    out[1] = scale / (a * hold)
    out[2] = scale / p[0]
    out[3] = -x / p[1]
    out[4] = -scale / warm


@inlined
def inverse(x, t, p):
    """a = exp(-(A / (t + C)) exp(-B M))."""
    return math.exp(-p[0] / (t - _ICE + p[2]) * math.exp(-p[1] * 100.0 * x))

"""Modified Oswin: Oswin's equation with a moisture linear in temperature, as the grain standard prints it."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_ICE = 273.15

MODEL = Model(
    name="Modified Oswin",
    key="modified_oswin",
    equation="M = (A + B t) (a / (1 - a))^(1/C), M = 100 X in % dry basis, t in degC",
    parameters=(
        Parameter("a", "%", "moisture at a_w 0.5 and 0 degC, dry basis"),
        Parameter("b", "%/degC", "how that moisture moves with temperature"),
        Parameter("c", "1", "how flat the curve is", 0.0, open_low=True),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="ASAED245",
    where="eq. of modified Oswin",
    verified="memory",
    linear=2,
    features=2,
    theta_low=(0.01,),  # 1/C
    theta_high=(20.0,),
    theta_wide_low=(0.01,),
    theta_wide_high=(20.0,),
    positive=(False, False),
    axes=((0.05, 0.15, 0.3, 0.45, 0.6, 0.9, 1.5, 3.0, 8.0),),
    needs_temperature=True,
    worked=((10.0, -0.04, 2.0), 0.8, 0.18),
    worked_where="by hand at 25 degC: (10 - 1) x 4^(1/2) %",
    notes=("Some papers print 1/C as C.",),
)


@inlined
def features(a, t, g):
    """ln(a/(1 - a)), and degC."""
    for i in range(a.size):
        g[0, i] = math.log(a[i] / (1.0 - a[i]))
        g[1, i] = t[i] - _ICE


@inlined
def basis(g, theta, rows):
    """X = 0.01 (c_1 + c_2 t) exp(e ln(a/(1 - a))), e = 1/C."""
    e = theta[0]
    for i in range(g.shape[1]):
        value = 0.01 * math.exp(e * g[0, i])
        rows[0, i] = value
        rows[1, i] = value * g[1, i]
        rows[2, i] = value * g[0, i]
        rows[3, i] = value * g[1, i] * g[0, i]


@inlined
def natural(c, theta, p, dp):
    """A = c_1, B = c_2, C = 1/e."""
    p[0], p[1], p[2] = c[0], c[1], 1.0 / theta[0]
    dp[0, 0] = 1.0
    dp[1, 1] = 1.0
    dp[2, 2] = -1.0 / (theta[0] * theta[0])


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A, B and C."""
    log, degrees = math.log(a / (1.0 - a)), t - _ICE
    power = 0.01 * math.exp(log / p[2])
    x = (p[0] + p[1] * degrees) * power
    out[0] = x
    out[1] = x / (p[2] * a * (1.0 - a))
    out[2] = power
    out[3] = power * degrees
    out[4] = -x * log / (p[2] * p[2])


@inlined
def inverse(x, t, p):
    """a = r/(1 + r), r = (M/(A + B t))^C."""
    r = (100.0 * x / (p[0] + p[1] * (t - _ICE))) ** p[2]
    return 1.0 / (1.0 + 1.0 / r)

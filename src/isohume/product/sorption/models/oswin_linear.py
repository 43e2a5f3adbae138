"""Oswin over temperature with both constants linear in it, as it is printed for pasta."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_ICE = 273.15
_MIDDLE = 25.0  # degC; the power is sought here, in the middle of the temperatures, where it is best known

MODEL = Model(
    name="Oswin, linear in temperature",
    key="oswin_linear",
    equation="X = (A0 + A1 t) (a / (1 - a))^(B0 + B1 t), t in degC",
    parameters=(
        Parameter("a0", "kg/kg", "moisture at a_w 0.5 and 0 degC"),
        Parameter("a1", "kg/kg/degC", "how that moisture moves with temperature"),
        Parameter("b0", "1", "how steeply moisture rises at 0 degC"),
        Parameter("b1", "1/degC", "how that moves with temperature"),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="Xiong1991",
    where="the isotherm of pasta, as transcribed in open code",
    verified="text",
    linear=2,
    features=2,
    theta_low=(1e-6, -0.05),  # the power at 25 degC, and B1
    theta_high=(10.0, 0.05),
    theta_wide_low=(-10.0, -0.05),
    theta_wide_high=(10.0, 0.05),
    positive=(False, False),
    axes=((0.1, 0.3, 0.5, 0.8, 1.3, 3.0), (-0.02, -0.004, 0.001, 0.006, 0.02)),
    needs_temperature=True,
    worked=((0.2, -0.002, 0.25, 0.01), 0.8, 0.3),
    worked_where="by hand at 25 degC: (0.2 - 0.05) x 4^(0.25 + 0.25)",
)


@inlined
def features(a, t, g):
    """ln(a/(1 - a)), and degC."""
    for i in range(a.size):
        g[0, i] = math.log(a[i] / (1.0 - a[i]))
        g[1, i] = t[i] - _ICE


@inlined
def basis(g, theta, rows):
    """X = (c_1 + c_2 t) exp((e + s (t - 25)) ln(a/(1 - a)))."""
    e, s = theta[0], theta[1]
    for i in range(g.shape[1]):
        log, degrees = g[0, i], g[1, i]
        value = math.exp((e + s * (degrees - _MIDDLE)) * log)
        rows[0, i] = value
        rows[1, i] = value * degrees
        rows[2, i] = value * log
        rows[3, i] = value * degrees * log
        rows[4, i] = value * (degrees - _MIDDLE) * log
        rows[5, i] = value * degrees * (degrees - _MIDDLE) * log


@inlined
def natural(c, theta, p, dp):
    """A0 = c_1, A1 = c_2, B0 = e - 25 s, B1 = s."""
    p[0], p[1], p[2], p[3] = c[0], c[1], theta[0] - _MIDDLE * theta[1], theta[1]
    dp[0, 0] = 1.0
    dp[1, 1] = 1.0
    dp[2, 2] = 1.0
    dp[2, 3] = -_MIDDLE
    dp[3, 3] = 1.0


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A0, A1, B0 and B1."""
    log, degrees = math.log(a / (1.0 - a)), t - _ICE
    power = p[2] + p[3] * degrees
    rise = math.exp(power * log)
    x = (p[0] + p[1] * degrees) * rise
    out[0] = x
    out[1] = x * power / (a * (1.0 - a))
    out[2] = rise
    out[3] = rise * degrees
    out[4] = x * log
    out[5] = x * log * degrees


@inlined
def inverse(x, t, p):
    """a = r/(1 + r), r = (X/(A0 + A1 t))^(1/(B0 + B1 t))."""
    degrees = t - _ICE
    r = (x / (p[0] + p[1] * degrees)) ** (1.0 / (p[2] + p[3] * degrees))
    return 1.0 / (1.0 + 1.0 / r)

"""GAB over temperature: each of its three constants with a heat, in the form of Arrhenius."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

_GAS = 8.314462618e-3  # kJ/(mol K)
_COLD = 1.0 / (_GAS * 298.15)  # the constants are sought at 25 degC, far better known there than at endless heat

MODEL = Model(
    name="GAB, Arrhenius",
    key="gab_arrhenius",
    equation="X = Xm C K a / ((1 - K a)(1 - K a + C K a)), each of Xm, C, K = p0 exp(heat / (R T))",
    parameters=(
        Parameter("monolayer_0", "kg/kg", "moisture of one layer without its heat factor", 0.0, open_low=True),
        Parameter("monolayer_heat", "kJ/mol", "heat in the monolayer"),
        Parameter("c_0", "1", "C without its heat factor", 0.0, open_low=True),
        Parameter("c_heat", "kJ/mol", "heat of the first layer above that of the layers on it"),
        Parameter("k_0", "1", "K without its heat factor", 0.0, open_low=True),
        Parameter("k_heat", "kJ/mol", "heat of condensation of water above that of the layers"),
    ),
    valid_a_w=(0.0, 0.99),
    source="Kiranoudis1993",
    where="the forms fitted to potato, as transcribed in open code",
    verified="text",
    linear=1,
    features=2,
    # the heat of the monolayer, ln C at 25 degC and its heat, K at 25 degC and its heat
    theta_low=(-50.0, math.log(1e-6), -100.0, 1e-6, -20.0),
    theta_high=(50.0, math.log(1e6), 100.0, 1.0, 20.0),
    theta_wide_low=(-50.0, math.log(1e-6), -100.0, 1e-6, -20.0),
    theta_wide_high=(50.0, math.log(1e6), 100.0, 2.0, 20.0),
    positive=(True,),
    # blocks of six: the signs of the heats and C tell the valleys apart
    axes=(
        (-8.0, 8.0),
        (math.log(4.0), math.log(30.0)),
        (-30.0, 0.0, 30.0),
        (0.6, 0.8, 0.93),
        (-6.0, 4.0),
    ),
    followed=6,
    needs_temperature=True,
    worked=((0.06, 0.0, 12.0, 0.0, 0.95, 0.0), 0.5, 0.1046),
    worked_where="without heats it is GAB: 0.06, 12 and 0.95 give 0.1046",
    notes=("K stays at or below 1 at 25 degC; look at the pole at other temperatures.",),
)


@inlined
def features(a, t, g):
    """The a_w, and 1/(R T) above that of 25 degC."""
    for i in range(a.size):
        g[0, i] = a[i]
        g[1, i] = 1.0 / (_GAS * t[i]) - _COLD


@inlined
def basis(g, theta, rows):
    """X = c_1 exp(heat y) C u / ((1 - u)(1 + (C - 1) u)), u = K a, y = 1/(R T) - 1/(R 298.15 K)."""
    heat, log_c, c_heat, k, k_heat = theta[0], theta[1], theta[2], theta[3], theta[4]
    for i in range(g.shape[1]):
        y = g[1, i]
        first = math.exp(log_c + c_heat * y)
        factor = math.exp(k_heat * y)
        u = k * factor * g[0, i]
        free, bound = 1.0 / (1.0 - u), 1.0 / (1.0 + (first - 1.0) * u)
        value = math.exp(heat * y) * first * u * free * bound
        by_log_c = value * (1.0 - u) * bound
        by_log_u = value * (1.0 + (first - 1.0) * u * u) * free * bound
        rows[0, i] = value
        rows[1, i] = value * y
        rows[2, i] = by_log_c
        rows[3, i] = by_log_c * y
        rows[4, i] = by_log_u / k
        rows[5, i] = by_log_u * y


@inlined
def natural(c, theta, p, dp):
    """From the constants at 25 degC to those without heat: p0 = p exp(-heat/(R 298.15 K))."""
    p[0] = c[0] * math.exp(-theta[0] * _COLD)
    p[1] = theta[0]
    p[2] = math.exp(theta[1] - theta[2] * _COLD)
    p[3] = theta[2]
    p[4] = theta[3] * math.exp(-theta[4] * _COLD)
    p[5] = theta[4]
    dp[0, 0] = p[0] / c[0]
    dp[0, 1] = -p[0] * _COLD
    dp[1, 1] = 1.0
    dp[2, 2] = p[2]
    dp[2, 3] = -p[2] * _COLD
    dp[3, 3] = 1.0
    dp[4, 4] = p[4] / theta[3]
    dp[4, 5] = -p[4] * _COLD
    dp[5, 5] = 1.0


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by the three constants and their heats."""
    y = 1.0 / (_GAS * t)
    m, c, u = p[0] * math.exp(p[1] * y), p[2] * math.exp(p[3] * y), p[4] * math.exp(p[5] * y) * a
    free, bound = 1.0 - u, 1.0 - u + c * u
    x = m * c * u / (free * bound)
    by_log_u = x * (1.0 + (c - 1.0) * u * u) / (free * bound)
    by_log_c = x * free / bound
    out[0] = x
    out[1] = by_log_u / a if a > 0.0 else m * c * p[4] * math.exp(p[5] * y)
    out[2] = x / p[0]
    out[3] = x * y
    out[4] = by_log_c / p[2]
    out[5] = by_log_c * y
    out[6] = by_log_u / p[4]
    out[7] = by_log_u * y


@inlined
def inverse(x, t, p):
    """GAB's inverse with the constants of the temperature."""
    y = 1.0 / (_GAS * t)
    m, c, k = p[0] * math.exp(p[1] * y), p[2] * math.exp(p[3] * y), p[4] * math.exp(p[5] * y)
    # x (1 - u)(1 + (c - 1) u) = m c u
    quadratic = -(c - 1.0) * x
    middle = (c - 2.0) * x - m * c
    if abs(quadratic) < 1e-14 * abs(middle):
        return -x / middle / k
    root = math.sqrt(middle * middle - 4.0 * quadratic * x)
    # the stable form of the root that goes to zero with x
    return 2.0 * x / (-middle + root) / k

"""Ferro Fontan, Chirife, Sancho and Iglesias: Halsey's equation with an upper end of a_w as a constant."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

MODEL = Model(
    name="Ferro Fontan",
    key="ferro_fontan",
    equation="ln(gamma / a) = alpha X^-r",
    parameters=(
        Parameter("gamma", "1", "a_w of endless moisture by extrapolation, near 1", 1.0),
        Parameter("alpha", "(kg/kg)^r", "how strongly water is held", 0.0, open_low=True),
        Parameter("r", "1", "how fast the hold falls with moisture", 0.0, open_low=True),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="FerroFontan1982",
    where="the three-constant equation",
    verified="memory",
    linear=1,
    features=1,
    theta_low=(0.01, 0.0),  # 1/r, and ln gamma
    theta_high=(30.0, math.log(10.0)),
    positive=(True,),
    axes=((0.15, 0.35, 0.6, 1.0, 1.8, 4.0, 10.0), (0.0, 0.02, 0.06, 0.2, 0.6, 1.5)),
    worked=((1.0, 0.02, 1.5), 0.5, 0.094074),
    worked_where="by hand: with gamma 1 it is Halsey's, (0.02 / 0.6931472)^(2/3)",
    notes=("A gamma far above 1 says that the equation has turned into a power of a_w.",),
)


@inlined
def features(a, t, g):
    """-ln a."""
    for i in range(a.size):
        g[0, i] = -math.log(a[i])


@inlined
def basis(g, theta, rows):
    """X = c_1 (ln gamma - ln a)^(-e), e = 1/r."""
    e, shift = theta[0], theta[1]
    for i in range(g.shape[1]):
        hold = shift + g[0, i]
        log = math.log(hold)
        value = math.exp(-e * log)
        rows[0, i] = value
        rows[1, i] = -value * log
        rows[2, i] = -e * value / hold


@inlined
def natural(c, theta, p, dp):
    """gamma = exp(theta_2), alpha = c_1^(1/e), r = 1/e."""
    e, log = theta[0], math.log(c[0])
    p[0] = math.exp(theta[1])
    p[1] = math.exp(log / e)
    p[2] = 1.0 / e
    dp[0, 2] = p[0]
    dp[1, 0] = p[1] / (e * c[0])
    dp[1, 1] = -p[1] * log / (e * e)
    dp[2, 1] = -1.0 / (e * e)


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by gamma, alpha and r."""
    hold = math.log(p[0] / a)
    log = math.log(p[1] / hold)
    x = math.exp(log / p[2])
    out[0] = x
    out[1] = x / (p[2] * hold * a)
    out[2] = -x / (p[2] * hold * p[0])
    out[3] = x / (p[2] * p[1])
    out[4] = -x * log / (p[2] * p[2])


@inlined
def inverse(x, t, p):
    """a = gamma exp(-alpha X^(-r))."""
    return p[0] * math.exp(-p[1] * x ** -p[2])

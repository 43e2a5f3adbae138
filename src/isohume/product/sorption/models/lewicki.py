"""Lewicki: water bound to the matter less water kept out by its neighbours, three constants."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.exponential import exponential, exponential_less_one
from isohume.product.sorption.model import Model, Parameter

_TINY = 1e-13  # G = tiny sinh(coordinate): linear in G below it and logarithmic above
_MOST = 1e4  # H; beyond it a^H is nothing below a_w 0.998
# the grid: first water early or late, a slow or a steep end
_STEEP = (
    0.0, 0.015, 0.035, 0.06, 0.1, 0.15, 0.21, 0.28, 0.36, 0.45, 0.54, 0.63, 0.72, 0.81, 0.9, 0.96, 0.99999,
)  # fmt: skip
_LATE = (
    0.0, 0.4, 0.9, 1.5, 2.3, 3.4, 5.0, 7.0, 9.5, 13.0, 18.0, 26.0, 38.0, 60.0, 100.0, 180.0, 350.0, 1000.0, 5000.0,
)  # fmt: skip

MODEL = Model(
    name="Lewicki",
    key="lewicki",
    equation="X = F (1 / (1 - a)^G - 1 / (1 + a^H))",
    parameters=(
        Parameter("f", "kg/kg", "scale of moisture", 0.0, open_low=True),
        Parameter("g", "1", "how steeply moisture rises near a_w 1", 0.0, 1.0),
        Parameter("h", "1", "how late the first water is taken up", 0.0),
    ),
    valid_a_w=(1e-6, 0.9999),
    source="Lewicki1998",
    where="the three-constant equation",
    verified="memory",
    linear=1,
    features=2,
    theta_low=(0.0, 0.0),  # arsinh(G/tiny), and ln(1 + H)
    theta_high=(math.asinh((1.0 - 1e-9) / _TINY), math.log1p(_MOST)),
    theta_wide_low=(-math.asinh(1.0 / _TINY), -3.0),
    theta_wide_high=(math.asinh(5.0 / _TINY), math.log1p(_MOST)),
    positive=(True,),
    axes=(
        tuple(math.asinh(g / _TINY) for g in _STEEP),
        tuple(math.log1p(h) for h in _LATE),
    ),
    followed=8,
    parts="sum",
    worked=((0.1, 0.5, 2.0), 0.5, 0.06142136),
    worked_where="by hand: 0.1 x (1.4142136 - 0.8)",
)


@inlined
def features(a, t, g):
    """-ln(1 - a) and ln a."""
    for i in range(a.size):
        g[0, i] = -math.log1p(-a[i])
        g[1, i] = math.log(a[i])


@inlined
def basis(g, theta, rows):
    """X = c_1 ((1 - a)^(-G) - 1 + a^H/(1 + a^H)), with logarithms as coordinates: G and H run over many decades.

    Written so that it keeps its digits where both parts are small.
    """
    rise, by_first = _TINY * math.sinh(theta[0]), _TINY * math.cosh(theta[0])
    more = math.exp(theta[1])
    h = more - 1.0
    for i in range(g.shape[1]):
        near, power = exponential_less_one(rise * g[0, i]), exponential(h * g[1, i])
        out = 1.0 / (1.0 + power)
        rows[0, i] = near + power * out
        rows[1, i] = (near + 1.0) * g[0, i] * by_first
        rows[2, i] = power * out * out * g[1, i] * more


@inlined
def part(g, h, place, row):
    """(1 - a)^(-G) - 1, or a^H/(1 + a^H)."""
    if h == 0:
        rise = _TINY * math.sinh(place)
        for i in range(g.shape[1]):
            row[i] = exponential_less_one(rise * g[0, i])
    else:
        late = math.exp(place) - 1.0
        for i in range(g.shape[1]):
            power = exponential(late * g[1, i])
            row[i] = power / (1.0 + power)


@inlined
def natural(c, theta, p, dp):
    """F = c_1, G, H."""
    more = math.exp(theta[1])
    p[0], p[1], p[2] = c[0], _TINY * math.sinh(theta[0]), more - 1.0
    dp[0, 0] = 1.0
    dp[1, 1] = _TINY * math.cosh(theta[0])
    dp[2, 2] = more


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by F, G and H."""
    gap, log = -math.log1p(-a), math.log(a)
    near, power = math.expm1(p[1] * gap), math.exp(p[2] * log)
    kept = 1.0 / (1.0 + power)
    by_power = power * kept * kept
    shape = near + power * kept
    out[0] = p[0] * shape
    out[1] = p[0] * (p[1] * (near + 1.0) / (1.0 - a) + p[2] * by_power / a)
    out[2] = shape
    out[3] = p[0] * (near + 1.0) * gap
    out[4] = p[0] * by_power * log


@inlined
def inverse(x, t, p):
    """No closed form."""
    return math.nan

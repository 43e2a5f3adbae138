"""Peleg: the sum of two powers of a_w, one for each end of the sigmoid; it has no theory and fits nearly all food."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.exponential import exponential
from isohume.product.sorption.model import Model, Parameter

_NOTHING = -80.0  # a natural logarithm
# the grid along d: one in the hundreds is a point that stands off the others
_LAST = (
    1.0, 1.4, 2.0, 3.0, 4.5, 6.5, 9.0, 13.0, 18.0, 25.0, 35.0, 50.0, 70.0, 100.0, 140.0, 200.0, 280.0, 400.0, 600.0,
    1000.0,
)  # fmt: skip

MODEL = Model(
    name="Peleg",
    key="peleg",
    equation="X = A a^C + B a^D",
    parameters=(
        Parameter("a", "kg/kg", "share of the part that rises first, at a_w 1", 0.0, open_low=True),
        Parameter("b", "kg/kg", "share of the part that rises last, at a_w 1", 0.0, open_low=True),
        Parameter("c", "1", "power of the part that rises first", 0.0, 1.0, open_low=True),
        Parameter("d", "1", "power of the part that rises last", 1.0, open_low=True),
    ),
    valid_a_w=(1e-6, 1.0),
    source="Peleg1993",
    where="eq. of the double power model",
    verified="memory",
    linear=2,
    features=1,
    theta_low=(1e-6, 0.0),  # C, and ln D
    theta_high=(1.0, math.log(1000.0)),
    theta_wide_low=(-2.0, math.log(0.05)),
    theta_wide_high=(4.0, math.log(1000.0)),
    positive=(True, True),
    axes=(
        (0.001, 0.15, 0.35, 0.55, 0.75, 0.9, 1.0),
        tuple(math.log(d) for d in _LAST),
    ),
    followed=8,
    parts="two",
    worked=((0.1, 0.2, 0.5, 4.0), 0.25, 0.05078125),
    worked_where="by hand: 0.1 x 0.5 + 0.2 / 256",
    notes=("A power d in the hundreds says that the last point alone stands off the rest of the curve.",),
)


@inlined
def features(a, t, g):
    """ln a."""
    for i in range(a.size):
        g[0, i] = math.log(a[i])


@inlined
def basis(g, theta, rows):
    """X = c_1 a^C + c_2 a^D, with ln D as the coordinate: D runs over three decades."""
    c, d = theta[0], math.exp(theta[1])
    for i in range(g.shape[1]):
        log = g[0, i]
        # a power below 1e-35 adds nothing, and products of such numbers fall into the slow range below 1e-308
        first, last = exponential(c * log), exponential(d * log) if d * log > _NOTHING else 0.0
        rows[0, i] = first
        rows[1, i] = last
        rows[2, i] = first * log
        rows[3, i] = 0.0
        rows[4, i] = 0.0
        rows[5, i] = last * log * d


@inlined
def part(g, h, place, row):
    """a^C, or a^D."""
    power = place if h == 0 else math.exp(place)
    for i in range(g.shape[1]):
        row[i] = exponential(power * g[0, i]) if power * g[0, i] > _NOTHING else 0.0


@inlined
def natural(c, theta, p, dp):
    """A = c_1, B = c_2, C, D."""
    p[0], p[1], p[2], p[3] = c[0], c[1], theta[0], math.exp(theta[1])
    dp[0, 0] = 1.0
    dp[1, 1] = 1.0
    dp[2, 2] = 1.0
    dp[3, 3] = p[3]


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A, B, C and D."""
    log = math.log(a)
    first, last = math.exp(p[2] * log), math.exp(p[3] * log)
    out[0] = p[0] * first + p[1] * last
    out[1] = (p[0] * first * p[2] + p[1] * last * p[3]) / a
    out[2] = first
    out[3] = last
    out[4] = p[0] * first * log
    out[5] = p[1] * last * log


@inlined
def inverse(x, t, p):
    """No closed form."""
    return math.nan

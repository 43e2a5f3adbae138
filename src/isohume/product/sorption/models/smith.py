"""Smith: moisture linear in ln(1 - a), for the upper half of the range, where high polymers swell."""

from __future__ import annotations

import math

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

MODEL = Model(
    name="Smith",
    key="smith",
    equation="X = A - B ln(1 - a)",
    parameters=(
        Parameter("a", "kg/kg", "moisture held tightly"),
        Parameter("b", "kg/kg", "moisture of one layer of the loosely held water", 0.0, open_low=True),
    ),
    valid_a_w=(0.0, 0.9999),
    source="Smith1947",
    where="the equation for the sum of bound and loosely held water",
    verified="memory",
    linear=2,
    features=1,
    positive=(False, True),
    worked=((0.02, 0.1), 0.5, 0.0893147),
    worked_where="by hand: 0.02 + 0.1 x 0.6931472",
    notes=("Usual range of use: a_w 0.3 to 0.9 or, for biopolymers, 0.5 to 0.95.",),
)


@inlined
def features(a, t, g):
    """-ln(1 - a)."""
    for i in range(a.size):
        g[0, i] = -math.log1p(-a[i])


@inlined
def basis(g, theta, rows):
    """X = c_1 - c_2 ln(1 - a)."""
    for i in range(g.shape[1]):
        rows[0, i] = 1.0
        rows[1, i] = g[0, i]


@inlined
def natural(c, theta, p, dp):
    """A = c_1, B = c_2."""
    p[0], p[1] = c[0], c[1]
    dp[0, 0] = 1.0
    dp[1, 1] = 1.0


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A and B."""
    rise = -math.log1p(-a)
    out[0] = p[0] + p[1] * rise
    out[1] = p[1] / (1.0 - a)
    out[2] = 1.0
    out[3] = rise


@inlined
def inverse(x, t, p):
    """a = 1 - exp(-(X - A)/B)."""
    return -math.expm1((p[0] - x) / p[1])

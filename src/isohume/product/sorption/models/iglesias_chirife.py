"""Iglesias and Chirife: moisture linear in a/(1 - a), for fruit and other food rich in sugar."""

from __future__ import annotations

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

MODEL = Model(
    name="Iglesias-Chirife",
    key="iglesias_chirife",
    equation="X = A + B a / (1 - a)",
    parameters=(
        Parameter("a", "kg/kg", "moisture held at no a_w, by extrapolation"),
        Parameter("b", "kg/kg", "moisture gained for each unit of a/(1 - a)", 0.0, open_low=True),
    ),
    valid_a_w=(0.0, 0.9999),
    source="IglesiasChirife1978",
    where="the two-constant form for high-sugar food",
    verified="memory",
    linear=2,
    features=1,
    positive=(False, True),
    worked=((0.05, 0.06), 0.75, 0.23),
    worked_where="by hand: 0.05 + 0.06 x 3",
    notes=("Meant for food rich in sugar, where moisture rises steeply above a_w 0.5.",),
)


@inlined
def features(a, t, g):
    """a/(1 - a)."""
    for i in range(a.size):
        g[0, i] = a[i] / (1.0 - a[i])


@inlined
def basis(g, theta, rows):
    """X = c_1 + c_2 a/(1 - a)."""
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
    ratio = a / (1.0 - a)
    out[0] = p[0] + p[1] * ratio
    out[1] = p[1] / (1.0 - a) ** 2
    out[2] = 1.0
    out[3] = ratio


@inlined
def inverse(x, t, p):
    """a = (X - A)/(X - A + B)."""
    return (x - p[0]) / (x - p[0] + p[1])

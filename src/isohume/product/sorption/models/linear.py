"""Linear: a straight line over a short range of a_w, as shelf-life arithmetic takes it."""

from __future__ import annotations

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.model import Model, Parameter

MODEL = Model(
    name="Linear",
    key="linear",
    equation="X = A a + C",
    parameters=(
        Parameter("a", "kg/kg", "moisture gained for each unit of a_w"),
        Parameter("c", "kg/kg", "moisture at no a_w, by extrapolation"),
    ),
    valid_a_w=(0.0, 1.0),
    source="LabuzaAltunakar2007",
    where="the working isotherm of package calculations",
    verified="memory",
    linear=2,
    features=1,
    positive=(False, False),
    worked=((0.2, 0.03), 0.6, 0.15),
    worked_where="by hand: 0.2 x 0.6 + 0.03",
    notes=("Only over the short range it was fitted to.",),
)


@inlined
def features(a, t, g):
    """The equation needs a_w as it is."""
    for i in range(a.size):
        g[0, i] = a[i]


@inlined
def basis(g, theta, rows):
    """X = c_1 a + c_2."""
    for i in range(g.shape[1]):
        rows[0, i] = g[0, i]
        rows[1, i] = 1.0


@inlined
def natural(c, theta, p, dp):
    """A = c_1, C = c_2."""
    p[0], p[1] = c[0], c[1]
    dp[0, 0] = 1.0
    dp[1, 1] = 1.0


@inlined
def curve(a, t, p, out):
    """Moisture, slope and derivatives by A and C."""
    out[0] = p[0] * a + p[1]
    out[1] = p[0]
    out[2] = a
    out[3] = 1.0


@inlined
def inverse(x, t, p):
    """a = (X - C)/A."""
    return (x - p[1]) / p[0]

"""Synthetic sets for the proofs of sorption: parameters over the range of food, noise in proportion to moisture."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

_Array = NDArray[np.float64]

# The equations as printed, written here a second time on purpose: the proofs compare against these, not the kernels.
EQUATIONS: dict[str, Callable[..., _Array]] = {
    "gab": lambda a, m, c, k: m * c * k * a / ((1 - k * a) * (1 - k * a + c * k * a)),
    "bet": lambda a, m, c: m * c * a / ((1 - a) * (1 - a + c * a)),
    "oswin": lambda a, A, b: A * (a / (1 - a)) ** b,  # noqa: N803
    "halsey": lambda a, A, b: (-A / np.log(a)) ** (1 / b),  # noqa: N803
    "henderson": lambda a, A, b: (-np.log(1 - a) / A) ** (1 / b),  # noqa: N803
    "chung_pfost": lambda a, A, b: -np.log(-np.log(a) / A) / b,  # noqa: N803
    "smith": lambda a, A, b: A - b * np.log(1 - a),  # noqa: N803
    "peleg": lambda a, A, b, c, d: A * a**c + b * a**d,  # noqa: N803
    "iglesias_chirife": lambda a, A, b: A + b * a / (1 - a),  # noqa: N803
    "caurie": lambda a, A, b: np.exp(A + b * a),  # noqa: N803
    "lewicki": lambda a, f, g, h: f * (1 / (1 - a) ** g - 1 / (1 + a**h)),
}
# Ranges to draw from: (low, high, drawn on a logarithmic scale).
RANGES: dict[str, tuple[tuple[float, float, bool], ...]] = {
    "gab": ((0.02, 0.15, False), (1.0, 100.0, True), (0.6, 0.99, False)),
    "bet": ((0.02, 0.15, False), (1.0, 100.0, True)),
    "oswin": ((0.04, 0.2, False), (0.2, 0.8, False)),
    "halsey": ((0.001, 0.2, True), (0.8, 2.5, False)),
    "henderson": ((1.0, 300.0, True), (0.6, 2.5, False)),
    "chung_pfost": ((1.5, 6.0, False), (8.0, 30.0, False)),
    "smith": ((0.0, 0.06, False), (0.03, 0.2, False)),
    "peleg": ((0.03, 0.25, False), (0.05, 0.6, False), (0.1, 0.95, False), (1.5, 20.0, True)),
    "iglesias_chirife": ((0.0, 0.08, False), (0.01, 0.08, False)),
    "caurie": ((-5.0, -2.0, False), (1.0, 4.0, False)),
    "lewicki": ((0.05, 0.3, False), (0.1, 0.9, False), (0.2, 30.0, True)),
}
# What cli.md admits, and how far the independent search looks where an end is open.
ADMISSIBLE: dict[str, tuple[tuple[float, float], ...]] = {
    "gab": ((0, math.inf), (0, math.inf), (0, 1)),
    "bet": ((0, math.inf), (0, math.inf)),
    "oswin": ((0, math.inf), (0, math.inf)),
    "halsey": ((0, math.inf), (0, math.inf)),
    "henderson": ((0, math.inf), (0, math.inf)),
    "chung_pfost": ((0, math.inf), (0, math.inf)),
    "smith": ((-math.inf, math.inf), (0, math.inf)),
    "peleg": ((0, math.inf), (0, math.inf), (0, 1), (1, math.inf)),
    "iglesias_chirife": ((-math.inf, math.inf), (0, math.inf)),
    "caurie": ((-math.inf, math.inf), (0, math.inf)),
    "lewicki": ((0, math.inf), (0, 1), (0, math.inf)),
}


def parameters(key: str, rng: np.random.Generator) -> tuple[float, ...]:
    """Parameters drawn over the range of food."""
    return tuple(
        float(math.exp(rng.uniform(math.log(low), math.log(high)))) if log else float(rng.uniform(low, high))
        for low, high, log in RANGES[key]
    )


def noisy(key: str, n: int, noise: float, rng: np.random.Generator) -> tuple[_Array, _Array, tuple[float, ...]]:
    """n points with relative noise, and the parameters they were made with."""
    top = 0.48 if key == "bet" else rng.uniform(0.85, 0.96)
    a = np.sort(np.linspace(0.07, top, n) + rng.uniform(-0.015, 0.015, n))
    while True:
        true = parameters(key, rng)
        curve = EQUATIONS[key](a, *true)
        if np.isfinite(curve).all() and curve.min() > 1e-4 and curve.max() < 3.0:
            return a, curve * (1.0 + noise * rng.standard_normal(n)), true

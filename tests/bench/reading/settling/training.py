"""Other ways of coming to rest, in wider ranges: what the forecast's trust in its laws was set with, never proved with.

The families of generator.py in ranges half as wide again, and two that it has not: a slab behind a film of air, and
grains of many sizes. docs/proof/settling.md comes from generator.py alone, with another seed.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq
from tests.bench.reading.settling.generator import Array, Made, _log_uniform, _modes, _slab, as_read, times


def one(rng: np.random.Generator, t: Array) -> Array:
    """One exponential."""
    return np.exp(-t / _log_uniform(rng, 8, 350))


def two(rng: np.random.Generator, t: Array) -> Array:
    """Two exponentials."""
    quick, share = _log_uniform(rng, 6, 80), rng.uniform(0.03, 0.6)
    return (1 - share) * np.exp(-t / quick) + share * np.exp(-t / (quick * rng.uniform(2, 10)))


def stretched(rng: np.random.Generator, t: Array) -> Array:
    """A stretched exponential."""
    return np.exp(-((t / _log_uniform(rng, 8, 160)) ** rng.uniform(0.4, 1.0)))


def two_sizes(rng: np.random.Generator, t: Array) -> Array:
    """Diffusion out of thick and thin slices (Crank, eq. 4.18)."""
    tau, share, lag = _log_uniform(rng, 40, 700), rng.uniform(0.15, 0.85), rng.uniform(1.5, 7)
    return share * _slab(t, tau, lag) + (1 - share) * _slab(t, tau / rng.uniform(1.8, 6), lag)


def film(rng: np.random.Generator, t: Array) -> Array:
    """A slab behind a film of air (Crank, eq. 4.53): b tan b = L."""
    resistance = _log_uniform(rng, 0.5, 20)
    roots = [
        brentq(lambda b: b * np.sin(b) - resistance * np.cos(b), n * np.pi, n * np.pi + np.pi / 2) for n in range(40)
    ]
    b = np.array(roots)
    share = 2 * resistance**2 / (b**2 * (b**2 + resistance**2 + resistance))
    return _modes(t, (b / b[0]) ** 2 / _log_uniform(rng, 40, 700), share / share.sum(), rng.uniform(1.5, 7))


def grains(rng: np.random.Generator, t: Array) -> Array:
    """Diffusion out of spheres (Crank, eq. 6.20) whose sizes are spread as a lognormal distribution."""
    spread, lag, tau, total = rng.uniform(0.1, 0.35), rng.uniform(1.5, 7), _log_uniform(rng, 40, 300), np.zeros_like(t)
    modes = np.arange(1.0, 41.0)
    shares = 6 / (np.pi * modes) ** 2
    weights = np.exp(-0.5 * np.linspace(-2, 2, 9) ** 2)
    for size, weight in zip(np.linspace(-2, 2, 9), weights / weights.sum(), strict=True):
        total += weight * _modes(t, modes**2 / (tau * np.exp(2 * spread * size)), shares / shares.sum(), lag)
    return total


TRAINING: dict[str, Callable[[np.random.Generator, Array], Array]] = {
    "one": one,
    "two": two,
    "stretched": stretched,
    "two sizes": two_sizes,
    "film": film,
    "grains": grains,
}


def trained_on(rng: np.random.Generator, family: str) -> Made:
    """A trace to set the trust with; as `coming_to_rest`, with steps and drift of their own ranges."""
    t, a = times(rng, 1800.0), rng.uniform(0.05, 0.98)
    begin = np.clip(a + rng.choice([-1, 1], p=[0.6, 0.4]) * rng.uniform(0.015, 0.6), 0.01, 0.99)
    drift = rng.choice([0.0, 1.0], p=[0.6, 0.4]) * rng.normal() * 1.5e-7 * t
    return Made(t, as_read(rng, t, a + (begin - a) * TRAINING[family](rng, t) + drift), a)

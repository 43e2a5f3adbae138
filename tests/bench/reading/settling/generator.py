"""Traces from physics, seeded: what a chamber, its sensor, the sample and the room do, and what goes wrong.

Headspace h over a surface s, seen by a sensor y, with a leak to the room:

    dh/dt = (s p(T_s)/p(T_b) - h)/tau_h + (room - h)/tau_leak,    dy/dt = (h - y)/tau_y

A quick sample's surface stays at its a_w. A slow one's comes back to it as water moves up from inside (a stretched
exponential). A warm or cold sample's surface comes to the block's temperature exponentially. A volatile substance
gathers on the sensor. Noise is autocorrelated; readings are rounded to the instrument's last digit. No source: ranges
are what a bench may meet; the vapour pressures are isohume's own, tested elsewhere against print.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.signal import lfilter
from scipy.special import jn_zeros

Array = NDArray[np.float64]
BLOCK_C = 25.0


@dataclass
class Made:
    """A generated trace, with the a_w it is about."""

    elapsed_s: Array
    a_w: Array
    truth: float
    sample_c: Array | None = None
    block_c: Array | None = None
    room: Array | None = None


def autocorrelated(rng: np.random.Generator, n: int, sigma: float, rho: float) -> Array:
    """Noise of standard deviation sigma whose neighbours are correlated by rho."""
    out = rng.normal(size=n) * sigma
    for i in range(1, n):
        out[i] = rho * out[i - 1] + np.sqrt(1.0 - rho * rho) * out[i]
    return out


def times(rng: np.random.Generator, end_s: float) -> Array:
    """Samples every one, two or five seconds."""
    every = float(rng.choice([1.0, 2.0, 5.0]))
    return np.arange(int(end_s / every)) * every


def as_read(rng: np.random.Generator, t: Array, ideal: Array, quiet: bool = False, resolution: float = 1e-4) -> Array:
    """With noise, now and then autocorrelated, and rounded."""
    sigma = np.exp(rng.uniform(np.log(5e-5), np.log(1.5e-4 if quiet else 4e-4)))
    rho = float(rng.choice([0.0, rng.uniform(0.0, 0.8)]))
    return np.round((ideal + autocorrelated(rng, t.size, sigma, rho)) / resolution) * resolution


# ---- families of coming to rest, for the forecast -----------------------------------------------------------------


def one(rng: np.random.Generator, t: Array) -> Array:
    """One exponential, 1 at the start and 0 at the end."""
    return np.exp(-t / _log_uniform(rng, 10, 250))


def two(rng: np.random.Generator, t: Array) -> Array:
    """Two exponentials, the slower one 2.5 to 8 times as slow and at most half."""
    quick = _log_uniform(rng, 8, 60)
    share = rng.uniform(0.05, 0.5)
    return (1 - share) * np.exp(-t / quick) + share * np.exp(-t / (quick * rng.uniform(2.5, 8)))


def stretched(rng: np.random.Generator, t: Array) -> Array:
    """A stretched exponential."""
    return np.exp(-((t / _log_uniform(rng, 10, 120)) ** rng.uniform(0.45, 0.95)))


def two_sizes(rng: np.random.Generator, t: Array) -> Array:
    """Diffusion out of thick and thin slices behind a sensor (Crank, eq. 4.18)."""
    tau, share, lag = _log_uniform(rng, 60, 500), rng.uniform(0.2, 0.8), rng.uniform(2, 6)
    thick, thin = _slab(t, tau, lag), _slab(t, tau / rng.uniform(2, 5), lag)
    return share * thick + (1 - share) * thin


def cylinder(rng: np.random.Generator, t: Array) -> Array:
    """Diffusion out of a stick behind a sensor: the estimator was not built from it (Crank, eq. 5.23)."""
    zeros = jn_zeros(0, 60)
    rate = (zeros / zeros[0]) ** 2 / _log_uniform(rng, 60, 600)
    return _modes(t, rate, 4.0 / zeros**2, rng.uniform(2, 6))


def crust(rng: np.random.Generator, t: Array) -> Array:
    """Diffusion that falls as water leaves, so that a crust closes: no sum of exponentials, not built in."""
    remaining, late = _crust(float(rng.choice(np.arange(0.5, 2.75, 0.25))))
    lag, tau = rng.uniform(2, 6), _log_uniform(rng, 60, 500)
    return behind_sensor(t, lambda at: np.asarray(remaining(np.log(np.clip(at / tau / late, 1e-6, 12.0)))), lag)


@cache
def _crust(steepness: float) -> tuple[PchipInterpolator, float]:
    """Water left in a slab whose surface is dry, D = exp(steepness u), over ln time; and the rate of its last mode.

        du/dt = d/dx (D(u) du/dx), u(x, 0) = 1, u(1, t) = 0, nothing through the middle x = 0
    Cells narrow towards the surface; the mean of D between two cells is that of its integral.
    """
    faces = 1.0 - np.linspace(1.0, 0.0, 81) ** 2.5
    middles, widths = 0.5 * (faces[1:] + faces[:-1]), np.diff(faces)
    apart = np.append(np.diff(middles), 1.0 - middles[-1])

    def change(_: float, u: Array) -> Array:
        potential = np.append(np.expm1(steepness * u) / steepness, 0.0)
        flow = np.append(0.0, -np.diff(potential) / apart)
        return -np.diff(flow) / widths

    at = np.geomspace(1e-6, 12.0, 1500)
    found = solve_ivp(change, (0.0, 12.0), np.ones(80), "BDF", at, rtol=1e-8, atol=1e-11)
    return PchipInterpolator(np.log(at), widths @ found.y), (0.5 * np.pi) ** 2


def behind_sensor(t: Array, curve: Callable[[Array], Array], lag: float) -> Array:
    """What a sensor of that time constant shows of a curve that begins at 1, in exact steps of 0.125 s."""
    fine = np.arange(0.0, t[-1] + 0.125, 0.125)
    seen = curve(np.maximum(fine, 1e-3))
    keep, middle = np.exp(-0.125 / lag), 0.5 * (seen[1:] + seen[:-1])
    shown = np.append(1.0, lfilter([1.0 - keep], [1.0, -keep], middle, zi=[keep])[0])
    return np.interp(t, fine, shown)


def _slab(t: Array, tau: float, lag: float) -> Array:
    odd = 2.0 * np.arange(60) + 1.0
    return _modes(t, odd**2 / tau, 8.0 / (np.pi * odd) ** 2, lag)


def _modes(t: Array, rate: Array, share: Array, lag: float) -> Array:
    """A sum of exponentials as a sensor of that time constant shows it."""
    rate, share = rate[:, None] * (1.0 + 1e-9), share[:, None]
    return (share * (np.exp(-rate * t) - rate * lag * np.exp(-t / lag)) / (1.0 - rate * lag)).sum(axis=0)


FAMILIES = {"one": one, "two": two, "stretched": stretched, "two sizes": two_sizes}
UNKNOWN = {"cylinder": cylinder, "crust": crust}


def coming_to_rest(rng: np.random.Generator, family: str, end_s: float = 1500.0) -> Made:
    """From the chamber's own state to the sample's a_w, with a little drift in a third of all traces."""
    t, a = times(rng, end_s), rng.uniform(0.1, 0.97)
    begin = np.clip(a + rng.choice([-1, 1], p=[0.7, 0.3]) * rng.uniform(0.02, 0.5), 0.02, 0.98)
    drift = rng.choice([0.0, 1.0], p=[0.7, 0.3]) * rng.normal() * 1.5e-7 * t
    ideal = a + (begin - a) * {**FAMILIES, **UNKNOWN}[family](rng, t) + drift
    return Made(t, as_read(rng, t, ideal), a)


def _log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))

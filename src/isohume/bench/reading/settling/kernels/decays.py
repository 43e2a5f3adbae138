"""Four laws by which a reading comes to rest, each with two coordinates a and b and what is expected of them.

    stretched   exp(-(t/tau)^beta)                  a = ln tau, b = beta     slow, dense, glassy samples
    pair        exp(-t/tau_1), exp(-t/tau_2)        a = ln tau_1, b = ln(tau_2/tau_1)    chamber and sensor
    rates       (1 + t/(nu tau))^-nu                a = ln tau, b = ln nu    rates spread as a gamma distribution
    diffusion   sum m^-2 exp(-m^2 t/tau)            a = ln tau, b            m = 1 + b n: a slab has b = 2, a sphere 1,
                                                                             a cylinder about 1.3

The first, third and fourth have a fast exponential beside them: the chamber, the sensor, the surface's first seconds.
What is expected of the coordinates is wide (a factor of three in time) and has no source; coverage was studied with it
(docs/proof).
"""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.layout import DIFFUSION, MODES, PAIR, RATES, STRETCHED

FAST_S = 8.0
_IMPOSSIBLE = -1e30
_GONE = 1e-12


@inlined
def law(which, p, q, modes, t):
    """f(t) of a node: p is 1/tau, q the second coordinate as the law uses it, modes the shares of diffusion."""
    x = t * p
    if which == STRETCHED:
        return math.exp(-(x**q)) if t > 0.0 else 1.0
    if which == PAIR:
        return math.exp(-x)
    if which == RATES:
        return math.exp(-q * math.log1p(x / q))
    total, mode = 0.0, math.exp(-x)
    step, ratio = math.exp(-x * (2.0 * q + q * q)), math.exp(-2.0 * x * q * q)
    for n in range(MODES):  # the distance of squares grows evenly: no further exponential is needed
        if mode < _GONE:
            break
        total += modes[n] * mode
        mode *= step
        step *= ratio
    return total


@inlined
def beside(which, q, t):
    """g(t): the pair's second exponential, or the fast one."""
    return math.exp(-t * q) if which == PAIR else math.exp(-t / FAST_S)


@inlined
def expected(which, a, b):
    """The logarithm of how likely coordinates are before there are data."""
    if which == STRETCHED:
        return -0.5 * ((a - 4.0) / 1.1) ** 2 if 0.25 <= b <= 1.15 else _IMPOSSIBLE
    if which == PAIR:
        return -0.5 * ((a - 3.4) ** 2 + ((b - 1.6) / 0.9) ** 2) - 0.79 if b >= 0.15 else _IMPOSSIBLE
    if which == RATES:
        return -0.5 * (((a - 3.5) / 1.1) ** 2 + ((b - 1.2) / 0.8) ** 2) - 0.77
    if 0.5 <= b <= 3.5:
        return -0.5 * (((a - 5.0) / 1.2) ** 2 + ((b - 1.6) / 0.6) ** 2) - 0.6
    return _IMPOSSIBLE


@inlined
def possible(log_likely):
    """Whether coordinates may be looked at."""
    return log_likely > 0.5 * _IMPOSSIBLE


@inlined
def as_used(which, a, b, shape, modes):
    """The coordinates as `law` and `beside` take them."""
    shape[0], shape[1] = math.exp(-a), b
    if which == PAIR:
        shape[1] = math.exp(-(a + b))
    elif which == RATES:
        shape[1] = math.exp(b)
    elif which == DIFFUSION:
        total = 0.0
        for n in range(MODES):
            modes[n] = 1.0 / (1.0 + b * n) ** 2
            total += modes[n]
        for n in range(MODES):
            modes[n] /= total

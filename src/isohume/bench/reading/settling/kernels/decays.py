"""Six laws by which a reading comes to rest, each with two coordinates a and b and what is expected of them.

    one         exp(-t/tau), exp(-t/lag)            a = ln tau, b = ln lag   a quick sample: chamber and sensor
    pair        exp(-t/tau_1), exp(-t/tau_2)        a = ln tau_1, b = ln(tau_2/tau_1)    chamber and sample
    stretched   exp(-(t/tau)^beta)                  a = ln tau, b = beta     slow, dense, glassy samples
    rates       (1 + t/(nu tau))^-nu                a = ln tau, b = ln nu    rates spread as a gamma distribution
    diffusion   sum m^-2 exp(-m^2 t/tau)            a = ln tau, b            m = 1 + b n: a slab has b = 2, a sphere 1,
                                                                             a cylinder about 1.3
    sizes       two slabs                           a = ln tau_1, b = ln(tau_2/tau_1)    thin slices and thick ones

Stretched, rates and diffusion have a fast exponential beside them: the chamber, the sensor, the surface's first
seconds. A sensor of time constant lag shows a mode exp(-r t) as (exp(-r t) - r lag exp(-t/lag))/(1 - r lag): so do
diffusion and sizes. What is expected of the coordinates is wide (a factor of three in time) and has no source; coverage
was studied with it (docs/proof).
"""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.layout import (
    APART,
    DIFFUSION,
    EXPECTED,
    LANES,
    MODES,
    MORE_SHARES,
    ONE,
    PAIR,
    RATES,
    SHARES,
    SIZES,
    STRETCHED,
    A,
    B,
    F,
    G,
    P,
    Q,
)
from isohume.bench.reading.settling.kernels.plain import exponential, logarithm

FAST_S, LAG_S = 8.0, 4.0
IMPOSSIBLE = -1e30
_FAR = -200.0  # exponentials of less than this are as good as nothing
_AS_QUICK = 0.05  # a mode as quick as the sensor is taken for one so much slower or quicker
_SLAB = 2.0


@inlined
def functions(which, file, t):
    """f(t) and g(t) of a file's nodes: the law, and what stands beside it."""
    if which in (ONE, PAIR):
        for k in range(LANES):
            file[F + k], file[G + k] = exponential(-t * file[P + k]), exponential(-t * file[Q + k])
        return
    if which == SIZES:
        fast = math.exp(-t / LAG_S)
        _slabs(file[P : P + LANES], file[SHARES:MORE_SHARES], t, fast, file[F : F + LANES])
        _slabs(file[Q : Q + LANES], file[MORE_SHARES:], t, fast, file[G : G + LANES])
        return
    fast = math.exp(-t / (LAG_S if which == DIFFUSION else FAST_S))
    if which == DIFFUSION:
        _modes(file[P : P + LANES], file[APART : APART + LANES], file[SHARES:MORE_SHARES], t, fast, file[F : F + LANES])
    elif which == STRETCHED:
        begun = math.log(max(t, 1e-9))
        for k in range(LANES):
            file[F + k] = exponential(-exponential(file[Q + k] * (begun - file[A + k])))
    else:
        for k in range(LANES):
            q = file[Q + k]
            file[F + k] = exponential(-q * logarithm(1.0 + t * file[P + k] / q))
    for k in range(LANES):
        file[G + k] = fast


@inlined
def _modes(rate, apart, shares, t, fast, to):
    """The distance of squares grows evenly: three exponentials do for all modes."""
    for k in range(LANES):
        b, x = apart[k], t * rate[k]
        mode = exponential(max(-x, _FAR))
        step, ratio = exponential(max(-x * (2.0 * b + b * b), _FAR)), exponential(max(-2.0 * x * b * b, _FAR))
        total = shares[MODES * LANES + k] * fast
        for n in range(MODES):
            total += shares[n * LANES + k] * mode
            mode *= step
            step *= ratio
        to[k] = total


@inlined
def _slabs(rate, shares, t, fast, to):
    """The modes of a slab: the squares of odd numbers are eight apart, and one exponential does."""
    for k in range(LANES):
        mode = exponential(max(-t * rate[k], _FAR))
        ratio = mode * mode
        ratio *= ratio
        ratio *= ratio
        step, total = ratio, shares[MODES * LANES + k] * fast
        for n in range(MODES):
            total += shares[n * LANES + k] * mode
            mode *= step
            step *= ratio
        to[k] = total


@inlined
def _shares(rate, apart, shares):
    """Shares of the modes as the sensor shows them; after them that of its own exponential: together they are one."""
    for k in range(LANES):
        b, total, shown = apart[k], 0.0, 0.0
        for n in range(MODES):
            m = 1.0 + b * n
            total += 1.0 / (m * m)
        for n in range(MODES):
            m = 1.0 + b * n
            slower = 1.0 - rate[k] * m * m * LAG_S
            slower = (_AS_QUICK if slower > 0.0 else -_AS_QUICK) if abs(slower) < _AS_QUICK else slower
            share = 1.0 / (m * m * total * slower)
            shares[n * LANES + k] = share
            shown += share
        shares[MODES * LANES + k] = 1.0 - shown


@inlined
def expected(which, a, b):
    """The logarithm of how likely coordinates are before there are data."""
    if which == ONE:
        return -0.5 * (((a - 3.9) / 1.1) ** 2 + ((b - 1.6) / 0.5) ** 2) - 0.33 if b < a - 0.3 else IMPOSSIBLE
    if which == PAIR:
        return -0.5 * ((a - 3.4) ** 2 + ((b - 1.6) / 0.9) ** 2) - 0.79 if b >= 0.15 else IMPOSSIBLE
    if which == STRETCHED:
        return -0.5 * ((a - 4.0) / 1.1) ** 2 if 0.25 <= b <= 1.15 else IMPOSSIBLE
    if which == RATES:
        return -0.5 * (((a - 3.5) / 1.1) ** 2 + ((b - 1.2) / 0.8) ** 2) - 0.77
    if which == DIFFUSION:
        return -0.5 * (((a - 5.0) / 1.2) ** 2 + ((b - 1.6) / 0.6) ** 2) - 0.6 if 0.5 <= b <= 3.5 else IMPOSSIBLE
    return -0.5 * (((a - 4.0) / 1.1) ** 2 + ((b - 1.2) / 0.5) ** 2) - 0.33 if b >= 0.3 else IMPOSSIBLE


@inlined
def prepare(which, file):
    """The coordinates of a file's nodes as the law uses them, and what is expected of them."""
    for k in range(LANES):
        a, b = file[A + k], file[B + k]
        file[EXPECTED + k] = expected(which, a, b)
        file[P + k], file[Q + k], file[APART + k] = exponential(-a), b, b
        if which in (PAIR, SIZES):
            file[Q + k], file[APART + k] = exponential(-a - b), _SLAB
        elif which == ONE:
            file[Q + k] = exponential(-b)
        elif which == RATES:
            file[Q + k] = exponential(b)
    if which in (DIFFUSION, SIZES):
        _shares(file[P : P + LANES], file[APART : APART + LANES], file[SHARES:MORE_SHARES])
    if which == SIZES:
        _shares(file[Q : Q + LANES], file[APART : APART + LANES], file[MORE_SHARES:])

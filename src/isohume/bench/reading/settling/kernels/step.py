"""One sample more: the sums of the nodes in use, now and then a new square, and the forecast."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.blocks import into_blocks, weigh
from isohume.bench.reading.settling.kernels.compiled import inlined, kernel
from isohume.bench.reading.settling.kernels.decays import beside, expected, law
from isohume.bench.reading.settling.kernels.layout import (
    CENTRE,
    CORRELATION,
    DRIFT,
    END,
    END_VARIANCE,
    EVIDENCE,
    LAWS,
    NEXT,
    NODES,
    NOT_IN_USE,
    NOW,
    ORIGIN,
    RESOLUTION,
    SHARE,
    SPREAD,
    START,
    USED_BLOCKS,
    VARIANCE,
    N,
)
from isohume.bench.reading.settling.kernels.mixture import quantile
from isohume.bench.reading.settling.kernels.node import add_sample, solve
from isohume.bench.reading.settling.kernels.noise import learn_noise
from isohume.bench.reading.settling.kernels.square import fit_square

LEAST = 6  # samples before there is a forecast
_GROWTH = 1.12  # the square is laid anew when the trace has grown by so much
_OUT_OF_USE = 16.0  # logarithm of a share that is carried along no further
_NOT_COUNTED = 10.0
_NOT_TRUSTED = 0.2
"""A forecast's own law is not trusted beyond this share of the way still to go, whatever the data say: water that comes
from inside looks like two exponentials until it is nearly there."""
_UNSEEN, _UNSEEN_S = 0.12, 25.0
"""In the first minute the chamber is seen and hardly the sample: what may still come, and how fast that doubt goes."""
_FIRST_NOISE = 1.5e-4
_TAIL = 0.025
_HIGHEST, _BEYOND = 1.02, 0.01  # no sample ends above pure water; instruments may, a little


@inlined
def _begin(scalars, t, y):
    scalars[START], scalars[ORIGIN], scalars[VARIANCE] = t, y, _FIRST_NOISE**2
    scalars[CORRELATION], scalars[NEXT] = 1.0, LEAST


@inlined
def _new_squares(room, times, values, n):
    weigh(room.blocks, room.scalars)
    best, law_of_best, node = NOT_IN_USE, 0, 0
    for which in range(LAWS):
        room.area[which] = fit_square(which, room)
        for k in range(NODES):
            if room.weight[which, k] > NOT_IN_USE and room.weight[which, k] + room.area[which] > best:
                best, law_of_best, node = room.weight[which, k] + room.area[which], which, k
    for which in range(LAWS):
        for k in range(NODES):
            if room.weight[which, k] + room.area[which] < best - _OUT_OF_USE:
                room.weight[which, k] = NOT_IN_USE
    learn_noise(law_of_best, node, room, times, values, n)
    room.scalars[NEXT] = max(n + 1.0, n * _GROWTH)


@inlined
def _one_more(room, t, y):
    for which in range(LAWS):
        for k in range(NODES):
            if room.weight[which, k] > NOT_IN_USE:
                shape = room.shape[which, k]
                f, g = law(which, shape[0], shape[1], room.modes[k], t), beside(which, shape[1], t)
                add_sample(room.sums[which, k], f, g, y, room.scalars[CORRELATION])


@inlined
def _mix(room, t):
    """The ends of all nodes in use with their shares; returns how many."""
    scalars, out, mixture = room.scalars, room.solution, room.mixture
    blocks = scalars[USED_BLOCKS]
    heavy_tails = (blocks + 8.0) / (blocks + 6.0)  # a normal distribution with the variance of Student's t
    floor = (scalars[DRIFT] * t) ** 2 + scalars[RESOLUTION] ** 2 / 12.0 + (_UNSEEN * math.exp(-t / _UNSEEN_S)) ** 2
    n, best = 0, NOT_IN_USE
    for which in range(LAWS):
        for k in range(NODES):
            if room.weight[which, k] > NOT_IN_USE:
                solve(which, room.sums[which, k], scalars, out)
                share = out[EVIDENCE] + room.area[which]
                share += expected(which, room.coordinates[which, k, 0], room.coordinates[which, k, 1])
                end = out[END] + scalars[ORIGIN]
                beyond = max(end - _HIGHEST, -end, 0.0) / _BEYOND
                to_go = _NOT_TRUSTED * (out[END] - scalars[NOW])
                mixture[CENTRE, n], mixture[SHARE, n] = end, share - 0.5 * beyond * beyond
                mixture[SPREAD, n] = math.sqrt(out[END_VARIANCE] * heavy_tails + floor + to_go * to_go)
                best, n = max(best, mixture[SHARE, n]), n + 1
    kept, total = 0, 0.0
    for i in range(n):
        if mixture[SHARE, i] > best - _NOT_COUNTED:
            mixture[CENTRE, kept], mixture[SPREAD, kept] = mixture[CENTRE, i], mixture[SPREAD, i]
            mixture[SHARE, kept] = math.exp(mixture[SHARE, i] - best)
            total, kept = total + mixture[SHARE, kept], kept + 1
    for i in range(kept):
        mixture[SHARE, i] /= total
    return kept


@inlined
def _interval(mixture, n, out):
    """Mean, and the interval that leaves a fortieth on either side."""
    mean, square, low, high = 0.0, 0.0, math.inf, -math.inf
    for i in range(n):
        centre, spread = mixture[CENTRE, i], mixture[SPREAD, i]
        mean += mixture[SHARE, i] * centre
        square += mixture[SHARE, i] * (centre * centre + spread * spread)
        low, high = min(low, centre - 4.0 * spread), max(high, centre + 4.0 * spread)
    about = 1.96 * math.sqrt(max(square - mean * mean, 0.0))
    out[0] = mean
    out[1] = quantile(_TAIL, mean - about, mixture, n, low, high)
    out[2] = quantile(1.0 - _TAIL, mean + about, mixture, n, low, high)


@kernel
def step(room, times, values, n, out):
    """Take the nth sample of a trace and forecast: value, low and high in `out`; not a number before the sixth."""
    scalars, t, y = room.scalars, times[n - 1], values[n - 1]
    if n == 1:
        _begin(scalars, t, y)
    t, y = t - scalars[START], y - scalars[ORIGIN]
    into_blocks(room.blocks, scalars, t, y)
    scalars[N] = n
    out[0] = out[1] = out[2] = math.nan
    if n < LEAST:
        return
    if n >= scalars[NEXT]:
        _new_squares(room, times, values, n)
    else:
        _one_more(room, t, y)
    _interval(room.mixture, _mix(room, t), out)


@kernel
def steps(room, times, values, first, last, out):
    """Samples first to last, one after the other; row n - 1 of `out` is the forecast after the nth."""
    for n in range(first, last + 1):
        step(room, times, values, n, out[n - 1])

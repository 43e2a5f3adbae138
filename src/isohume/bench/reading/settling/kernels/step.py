"""One sample more: the sums of the nodes in use, now and then a new square, and the forecast."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.blocks import into_blocks, weigh
from isohume.bench.reading.settling.kernels.compiled import inlined, kernel
from isohume.bench.reading.settling.kernels.decays import functions
from isohume.bench.reading.settling.kernels.layout import (
    AREA,
    ASLEEP,
    AT,
    CENTRE,
    CORRELATION,
    DRIFT,
    END,
    END_VARIANCE,
    EVIDENCE,
    EXPECTED,
    FILE,
    FILES,
    FIRST_FILE,
    HIGH,
    LANES,
    LAST_FILE,
    LAWS,
    LOW,
    MIXED,
    NEXT,
    NOT_IN_USE,
    NOW,
    ORIGIN,
    PART,
    RESOLUTION,
    SHARE,
    SPREAD,
    START,
    USED_BLOCKS,
    USED_FILES,
    VARIANCE,
    WIDE,
    N,
)
from isohume.bench.reading.settling.kernels.mixture import quantile
from isohume.bench.reading.settling.kernels.node import add_sample, solve
from isohume.bench.reading.settling.kernels.noise import learn_noise
from isohume.bench.reading.settling.kernels.plain import exponential
from isohume.bench.reading.settling.kernels.square import fit_square

LEAST = 6  # samples before there is a forecast
_GROWTH = 1.2  # the square is laid anew when the trace has grown by so much
_OUT_OF_USE, _NOT_COUNTED = 12.0, 9.0  # logarithm of a share that is carried along no further, or not counted
_ASLEEP = 3.0  # times that a law without a node in use is passed over
_NOT_TRUSTED = (0.0, 0.1, 0.02, 0.3, 0.2, 0.12)
"""Standard uncertainty of a law, as a share of the way still to go: what no data of this trace can say. In the order of
the laws; more where water comes from inside, for pieces are never all alike. Set with traces of other kinds and ranges
than the proof's (tests/bench/reading/settling/training.py)."""
_UNSEEN, _UNSEEN_S = 0.06, 25.0
"""In the first minute the chamber is seen and hardly the sample: what may still come, and how fast that doubt goes."""
_FIRST_NOISE = 1.5e-4
_TAIL = 0.025
_HIGHEST, _BEYOND = 1.02, 0.01  # no sample ends above pure water; instruments may, a little


@inlined
def _begin(scalars, t, y):
    scalars[START], scalars[ORIGIN], scalars[VARIANCE] = t, y, _FIRST_NOISE**2
    scalars[CORRELATION], scalars[NEXT] = 1.0, LEAST


@inlined
def _put_to_use(square, used, at, files, begin, end, worth):
    """The nodes of files that are worth carrying along, into files in use from `at` on; returns the next free one."""
    n = at * LANES
    for i in range(begin, end):
        for k in range(LANES):
            if files[i * FILE + SHARE + k] > worth:
                for row in range(0, FILE, LANES):
                    used[n // LANES * FILE + row + n % LANES] = files[i * FILE + row + k]
                n += 1
    while n % LANES:  # the last file is filled up with copies that have no share
        there = n // LANES * FILE
        for row in range(0, FILE, LANES):
            used[there + row + n % LANES] = used[there + row]
        used[there + EXPECTED + n % LANES] = used[there + SHARE + n % LANES] = NOT_IN_USE
        n += 1
    square[FIRST_FILE], square[LAST_FILE] = at, n // LANES
    return n // LANES


@inlined
def _new_squares(room, times, values, n):
    weigh(room.blocks, room.scalars)
    best, law, at = NOT_IN_USE, 0, 0
    for which in range(LAWS):
        square = room.squares[which]
        square[FIRST_FILE] = square[LAST_FILE] = at
        if square[ASLEEP] > 0.0:
            square[ASLEEP] -= 1.0
            continue
        largest = fit_square(which, room)
        at = _put_to_use(square, room.used, at, room.grid, 0, FILES, largest - _OUT_OF_USE)
        if largest + square[AREA] > best:
            best, law = largest + square[AREA], which
    at = 0
    for which in range(LAWS):
        square = room.squares[which]
        begin, end = int(square[FIRST_FILE]), int(square[LAST_FILE])
        worth = best - square[AREA] - _OUT_OF_USE
        after = _put_to_use(square, room.used, at, room.used, begin, end, worth)
        if begin < end and at == after:
            square[ASLEEP] = _ASLEEP
        at = after
    room.scalars[USED_FILES] = at
    _learn(law, room, times, values, n)
    room.scalars[NEXT] = max(n + 1.0, n * _GROWTH)


@inlined
def _learn(law, room, times, values, n):
    """The noise, from what the best node of the best law leaves."""
    largest, file, lane = NOT_IN_USE, room.used[0:FILE], 0
    for i in range(int(room.squares[law, FIRST_FILE]), int(room.squares[law, LAST_FILE])):
        for k in range(LANES):
            if room.used[i * FILE + SHARE + k] > largest:
                largest, file, lane = room.used[i * FILE + SHARE + k], room.used[i * FILE : (i + 1) * FILE], k
    learn_noise(law, file, lane, room.scalars, times, values, n)


@inlined
def _one_more(room, t, y):
    for which in range(LAWS):
        for i in range(int(room.squares[which, FIRST_FILE]), int(room.squares[which, LAST_FILE])):
            file = room.used[i * FILE : (i + 1) * FILE]
            functions(which, file, t)
            add_sample(file, y, room.scalars[CORRELATION])


@inlined
def _mix(room, t):
    """Centre, spread and share of the end at every node in use."""
    scalars = room.scalars
    blocks = scalars[USED_BLOCKS]
    heavy_tails = (blocks + 8.0) / (blocks + 6.0)  # a normal distribution with the variance of Student's t
    floor = (scalars[DRIFT] * t) ** 2 + scalars[RESOLUTION] ** 2 / 12.0 + (_UNSEEN * math.exp(-t / _UNSEEN_S)) ** 2
    best = NOT_IN_USE
    for which in range(LAWS):
        area, not_trusted = room.squares[which, AREA], _NOT_TRUSTED[which]
        for i in range(int(room.squares[which, FIRST_FILE]), int(room.squares[which, LAST_FILE])):
            file = room.used[i * FILE : (i + 1) * FILE]
            solve(which, file, scalars)
            for k in range(LANES):
                end = file[END + k] + scalars[ORIGIN]
                beyond = max(end - _HIGHEST, -end, 0.0) / _BEYOND
                to_go = not_trusted * (file[END + k] - scalars[NOW])
                file[CENTRE + k] = end
                file[SHARE + k] = file[EVIDENCE + k] + area + file[EXPECTED + k] - 0.5 * beyond * beyond
                file[SPREAD + k] = math.sqrt(file[END_VARIANCE + k] * heavy_tails + floor + to_go * to_go)
            for k in range(LANES):
                best = max(best, file[SHARE + k])
    return best


@inlined
def _gather(room, best):
    """The nodes with a share worth counting, into the mixture; returns how many files."""
    n, mixture = 0, room.mixture
    for i in range(int(room.scalars[USED_FILES])):
        file = room.used[i * FILE : (i + 1) * FILE]
        for k in range(LANES):
            if file[SHARE + k] > best - _NOT_COUNTED:
                at = n // LANES * MIXED + n % LANES
                mixture[at + AT], mixture[at + WIDE] = file[CENTRE + k], file[SPREAD + k]
                mixture[at + PART] = exponential(file[SHARE + k] - best)
                n += 1
    while n % LANES:
        at = n // LANES * MIXED + n % LANES
        mixture[at + AT], mixture[at + WIDE], mixture[at + PART] = mixture[AT], mixture[WIDE], 0.0
        n += 1
    return n // LANES


@inlined
def _moments(mixture, n):
    """Makes the shares add up to one; mean and standard deviation of the mixture, and how far it may reach."""
    total, mean, square, low, high = 0.0, 0.0, 0.0, math.inf, -math.inf
    for i in range(n):
        file = mixture[i * MIXED : (i + 1) * MIXED]
        for k in range(LANES):
            part, centre, spread = file[PART + k], file[AT + k], file[WIDE + k]
            total += part
            mean += part * centre
            square += part * (centre * centre + spread * spread)
            low, high = min(low, centre - 4.0 * spread), max(high, centre + 4.0 * spread)
    for i in range(n):
        for k in range(LANES):
            mixture[i * MIXED + PART + k] /= total
    mean /= total
    return mean, math.sqrt(max(square / total - mean * mean, 0.0)), low, high


@inlined
def _interval(room, t, out):
    """Mean, and the interval that leaves a fortieth on either side."""
    scalars = room.scalars
    n = _gather(room, _mix(room, t))
    mean, sd, low, high = _moments(room.mixture, n)
    below = scalars[LOW] if scalars[LOW] > 0.0 else 1.96
    above = scalars[HIGH] if scalars[HIGH] > 0.0 else 1.96
    out[0] = mean
    out[1] = quantile(_TAIL, mean - below * sd, room.mixture, n, low, high)
    out[2] = quantile(1.0 - _TAIL, mean + above * sd, room.mixture, n, low, high)
    scalars[LOW], scalars[HIGH] = (mean - out[1]) / sd, (out[2] - mean) / sd


@inlined
def _step(room, times, values, n, out):
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
    _interval(room, t, out)


@kernel
def steps(room, times, values, first, last, out):
    """Samples first to last of a trace, one after the other: value, low and high of each in a row of `out`.

    They are not numbers before the sixth sample.
    """
    for n in range(first, last + 1):
        _step(room, times, values, n, out[n - first])

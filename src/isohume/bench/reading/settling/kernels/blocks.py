"""A trace in at most 64 blocks, each a twelfth of its age wide: the mean of a block stands for its samples."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.layout import (
    BEGAN,
    BLOCKS,
    CORRELATION,
    COUNT,
    NOW,
    SPAN,
    TIME,
    USED_BLOCKS,
    VALUE,
    VARIANCE,
    WEIGHT,
)

_WIDTH = 0.08  # of the age: a decay's mean over it and its value in the middle differ by less than 1e-4 of its height
_FORGOTTEN = 0.01  # of the trace's age: what lies that far back may be told apart no longer
_LATEST = 5.0  # samples whose mean is the reading of now
_LAW_HOLDS_TO = 0.005
"""No law of decay is exact: its early part is trusted to half a percent of what is left of the way."""
_LEAST_SPAN = 0.005
_SENSOR, _SENSOR_S = 0.1, 10.0
"""The first seconds are the sensor's and the chamber's: what a law may be off by, of the way come, and how fast that
goes."""


@inlined
def into_blocks(blocks, scalars, t, y):
    """One sample joins the last block, or begins a new one."""
    used = int(scalars[USED_BLOCKS])
    if used > 0 and t - scalars[BEGAN] < _WIDTH * t:
        count = blocks[COUNT, used - 1] + 1.0
        blocks[TIME, used - 1] += (t - blocks[TIME, used - 1]) / count
        blocks[VALUE, used - 1] += (y - blocks[VALUE, used - 1]) / count
        blocks[COUNT, used - 1] = count
        return
    if used == BLOCKS:
        _join_nearest(blocks, t)
        used -= 1
    blocks[TIME, used], blocks[VALUE, used], blocks[COUNT, used] = t, y, 1.0
    scalars[USED_BLOCKS], scalars[BEGAN] = used + 1, t


@inlined
def _join_nearest(blocks, now):
    """Makes room: the two neighbours that lie closest for their age become one."""
    least, at = math.inf, 0
    for b in range(BLOCKS - 1):
        apart = (blocks[TIME, b + 1] - blocks[TIME, b]) / (blocks[TIME, b + 1] + _FORGOTTEN * now)
        if apart < least:
            least, at = apart, b
    first, second = blocks[COUNT, at], blocks[COUNT, at + 1]
    for row in (TIME, VALUE):
        blocks[row, at] = (first * blocks[row, at] + second * blocks[row, at + 1]) / (first + second)
    blocks[COUNT, at] = first + second
    for b in range(at + 1, BLOCKS - 1):
        for row in (TIME, VALUE, COUNT):
            blocks[row, b] = blocks[row, b + 1]


@inlined
def off_by(scalars, t, y):
    """What a law may be off by at a reading, whatever the noise."""
    return _LAW_HOLDS_TO * abs(y - scalars[NOW]) + _SENSOR * scalars[SPAN] * math.exp(-t / _SENSOR_S)


@inlined
def weigh(blocks, scalars):
    """The reading of now, how far it has come, and what each block weighs."""
    used, total, count = int(scalars[USED_BLOCKS]), 0.0, 0.0
    for b in range(used - 1, -1, -1):
        total += blocks[VALUE, b] * blocks[COUNT, b]
        count += blocks[COUNT, b]
        if count >= _LATEST:
            break
    scalars[NOW] = total / count
    scalars[SPAN] = max(abs(blocks[VALUE, 0] - scalars[NOW]), _LEAST_SPAN)
    for b in range(used):
        off = off_by(scalars, blocks[TIME, b], blocks[VALUE, b])
        samples = blocks[COUNT, b] * scalars[CORRELATION]
        blocks[WEIGHT, b] = 1.0 / (1.0 / samples + off * off / scalars[VARIANCE])

"""The square of nodes over what the data leave possible of a law's two coordinates, laid anew as it shrinks."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.decays import as_used, beside, expected, law, possible
from isohume.bench.reading.settling.kernels.layout import (
    EVIDENCE,
    EXPECTED,
    MISFIT,
    NODES,
    NOT_IN_USE,
    SIDE,
    SUMS,
    TIME,
    USED_BLOCKS,
    VALUE,
    WEIGHT,
    WIDTHS,
)
from isohume.bench.reading.settling.kernels.node import add_sample, solve

_HALF = 2.5  # half a side, in standard deviations
_STEP = 2.0 * _HALF / (SIDE - 1)
_MARGIN = 1.15
_NEGLIGIBLE = 30.0
_FEW = 4.0  # effective nodes below which the square is too coarse to tell its own width
_ENOUGH = 5.0
_AT_THE_EDGE = 1.9  # of 2.5
_LEVELS = 5
_POOR = 3.0  # times the noise's variance


@inlined
def lay(which, room):
    """The nodes, along the principal lines of what is possible."""
    for k in range(NODES):
        first, second = _STEP * (k // SIDE) - _HALF, _STEP * (k % SIDE) - _HALF
        a = room.middle[which, 0] + room.reach[which, 0] * first
        b = room.middle[which, 1] + room.reach[which, 1] * first + room.reach[which, 2] * second
        room.coordinates[which, k, 0], room.coordinates[which, k, 1] = a, b
        if possible(expected(which, a, b)):
            as_used(which, a, b, room.shape[which, k], room.modes[k])


@inlined
def evaluate(which, room):
    """Sums and weight of every node, from the blocks; returns the largest weight."""
    best, room.misfit[which] = NOT_IN_USE, 0.0
    for k in range(NODES):
        likely = expected(which, room.coordinates[which, k, 0], room.coordinates[which, k, 1])
        room.weight[which, k] = NOT_IN_USE
        if not possible(likely):
            continue
        sums, shape = room.sums[which, k], room.shape[which, k]
        for j in range(SUMS):
            sums[j] = 0.0
        for b in range(int(room.scalars[USED_BLOCKS])):
            t = room.blocks[TIME, b]
            f, g = law(which, shape[0], shape[1], room.modes[k], t), beside(which, shape[1], t)
            add_sample(sums, f, g, room.blocks[VALUE, b], room.blocks[WEIGHT, b])
        solve(which, sums, room.scalars, room.solution)
        room.weight[which, k] = room.solution[EVIDENCE] + likely
        if room.weight[which, k] > best:
            best, room.misfit[which] = room.weight[which, k], room.solution[MISFIT]
    return best


@inlined
def _share(weight, best):
    return math.exp(weight - best) if weight > best - _NEGLIGIBLE else 0.0


@inlined
def recentre(which, room, best):
    """Centre and width from the nodes' shares; returns how many nodes carry them, in effect."""
    total, first, second, squares = 0.0, 0.0, 0.0, 0.0
    for k in range(NODES):
        share = _share(room.weight[which, k], best)
        total += share
        squares += share * share
        first += share * room.coordinates[which, k, 0]
        second += share * room.coordinates[which, k, 1]
    first, second, carrying = first / total, second / total, total * total / squares
    c11, c12, c22 = 0.0, 0.0, 0.0
    for k in range(NODES):
        share = _share(room.weight[which, k], best) / total
        a, b = room.coordinates[which, k, 0] - first, room.coordinates[which, k, 1] - second
        c11, c12, c22 = c11 + share * a * a, c12 + share * a * b, c22 + share * b * b
    reach, middle = room.reach[which], room.middle[which]
    off_a, off_b = first - middle[0], second - middle[1]
    middle[0], middle[1] = first, second
    if max(abs(off_a) / reach[0], abs(off_b - reach[1] / reach[0] * off_a) / reach[2]) > _AT_THE_EDGE:
        return 0.0  # what is possible lies further out: the square moves, and does not shrink
    coarse = carrying < _FEW
    n0 = math.sqrt(max(c11, (0.35 * _STEP * reach[0]) ** 2 if coarse else 1e-8))
    n1 = c12 / n0
    n2 = math.sqrt(max(c22 - n1 * n1, (0.3 * _STEP * reach[2]) ** 2 if coarse else 1e-8))
    reach[0], reach[1], reach[2] = _MARGIN * n0, _MARGIN * n1, _MARGIN * n2
    return carrying


@inlined
def fit_square(which, room):
    """Lay, evaluate and lay anew until the square fits what is possible; returns the logarithm of its size."""
    if room.misfit[which] > _POOR:  # where it was is no place to start from
        for j in range(2):
            room.middle[which, j] = EXPECTED[which][j]
        room.reach[which, 0], room.reach[which, 1], room.reach[which, 2] = WIDTHS[which][0], 0.0, WIDTHS[which][1]
    size = 0.0
    for _ in range(_LEVELS):
        a, b = room.reach[which, 0], room.reach[which, 2]
        size = math.log(a * b)
        lay(which, room)
        carrying = recentre(which, room, evaluate(which, room))
        closer, narrower = room.reach[which, 0] / a, room.reach[which, 2] / b
        if 0.7 < closer < 1.4 and 0.7 < narrower < 1.4 and carrying > _ENOUGH:
            break
    return size

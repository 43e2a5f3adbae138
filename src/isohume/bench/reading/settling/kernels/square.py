"""The square of nodes over what the data leave possible of a law's two coordinates, laid anew as it shrinks."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.decays import IMPOSSIBLE, functions, prepare
from isohume.bench.reading.settling.kernels.layout import (
    AREA,
    EVIDENCE,
    EXPECTED,
    FILE,
    FILES,
    LANES,
    LEFT,
    MIDDLE_A,
    MIDDLE_B,
    MIDDLES,
    MISFIT,
    NODES,
    NOT_IN_USE,
    REACH_A,
    REACH_AB,
    REACH_B,
    SHARE,
    SIDE,
    TIME,
    USED_BLOCKS,
    VALUE,
    WEIGHT,
    WIDTHS,
    A,
    B,
)
from isohume.bench.reading.settling.kernels.node import add_sample, forget, solve
from isohume.bench.reading.settling.kernels.plain import exponential

_HALF = 2.5  # half a side, in standard deviations
_STEP = 2.0 * _HALF / (SIDE - 1)
_MARGIN = 1.15
_NEGLIGIBLE = -30.0
_FEW = 4.0  # effective nodes below which the square is too coarse to tell its own width
_ENOUGH = 5.0
_AT_THE_EDGE = 1.9  # of 2.5
_LEVELS = 5
_POOR = 3.0  # times the noise's variance


@inlined
def lay(which, square, grid):
    """The nodes, along the principal lines of what is possible."""
    for k in range(NODES):
        first, second = _STEP * (k // SIDE) - _HALF, _STEP * (k % SIDE) - _HALF
        a = square[MIDDLE_A] + square[REACH_A] * first
        b = square[MIDDLE_B] + square[REACH_AB] * first + square[REACH_B] * second
        at = k // LANES * FILE + k % LANES
        grid[at + A], grid[at + B] = a, b
    for n in range(FILES):
        prepare(which, grid[n * FILE : (n + 1) * FILE])


@inlined
def evaluate(which, room):
    """Sums and weight of every node, from the blocks; returns the largest weight."""
    best, misfit = NOT_IN_USE, 0.0
    for n in range(FILES):
        file = room.grid[n * FILE : (n + 1) * FILE]
        forget(file)
        for b in range(int(room.scalars[USED_BLOCKS])):
            functions(which, file, room.blocks[TIME, b])
            add_sample(file, room.blocks[VALUE, b], room.blocks[WEIGHT, b])
        solve(which, file, room.scalars)
        for k in range(LANES):
            possible = file[EXPECTED + k] > IMPOSSIBLE
            file[SHARE + k] = file[EVIDENCE + k] + file[EXPECTED + k] if possible else NOT_IN_USE
            if file[SHARE + k] > best:
                best, misfit = file[SHARE + k], file[LEFT + k]
    room.squares[which, MISFIT] = misfit
    return best


@inlined
def recentre(square, grid, best):
    """Centre and width from the nodes' shares; returns how many nodes carry them, in effect."""
    total, first, second, squares, c11, c12, c22 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for n in range(FILES):
        file = grid[n * FILE : (n + 1) * FILE]
        for k in range(LANES):
            if file[SHARE + k] > best + _NEGLIGIBLE:
                share = exponential(file[SHARE + k] - best)
                a, b = file[A + k] - square[MIDDLE_A], file[B + k] - square[MIDDLE_B]
                total, squares = total + share, squares + share * share
                first, second = first + share * a, second + share * b
                c11, c12, c22 = c11 + share * a * a, c12 + share * a * b, c22 + share * b * b
    off_a, off_b, carrying = first / total, second / total, total * total / squares
    c11, c12, c22 = c11 / total - off_a * off_a, c12 / total - off_a * off_b, c22 / total - off_b * off_b
    square[MIDDLE_A] += off_a
    square[MIDDLE_B] += off_b
    reach_a, reach_ab, reach_b = square[REACH_A], square[REACH_AB], square[REACH_B]
    if max(abs(off_a) / reach_a, abs(off_b - reach_ab / reach_a * off_a) / reach_b) > _AT_THE_EDGE:
        return 0.0  # what is possible lies further out: the square moves, and does not shrink
    coarse = carrying < _FEW
    n0 = math.sqrt(max(c11, (0.35 * _STEP * reach_a) ** 2 if coarse else 1e-8))
    n1 = c12 / n0
    n2 = math.sqrt(max(c22 - n1 * n1, (0.3 * _STEP * reach_b) ** 2 if coarse else 1e-8))
    square[REACH_A], square[REACH_AB], square[REACH_B] = _MARGIN * n0, _MARGIN * n1, _MARGIN * n2
    return carrying


@inlined
def fit_square(which, room):
    """Lay, evaluate and lay anew until the square fits what is possible; returns the largest weight."""
    square = room.squares[which]
    if square[MISFIT] > _POOR:  # where it was is no place to start from
        square[MIDDLE_A], square[MIDDLE_B] = MIDDLES[which]
        square[REACH_A], square[REACH_B] = WIDTHS[which]
        square[REACH_AB] = 0.0
    best = NOT_IN_USE
    for _ in range(_LEVELS):
        a, b = square[REACH_A], square[REACH_B]
        square[AREA] = math.log(a * b)
        lay(which, square, room.grid)
        best = evaluate(which, room)
        carrying = recentre(square, room.grid, best)
        closer, narrower = square[REACH_A] / a, square[REACH_B] / b
        if 0.7 < closer < 1.4 and 0.7 < narrower < 1.4 and carrying > _ENOUGH:
            break
    return best

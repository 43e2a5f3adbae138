"""The room that the kernels of one trace work in; they allocate nothing.

A trace is compressed into blocks of samples whose width grows with time. Six laws of decay are looked at, each with
two nonlinear coordinates: a square of nodes lies over what the data leave possible of them. At a node the prediction

    y = c_0 + c_1 f(t) + c_2 g(t)

is linear in its coefficients, c_0 the value it ends at; ten sums a node are all that a new sample has to change.

Nodes stand in files of 16 beside each other: a file holds a row of 16 numbers for each of what is known of its nodes,
one row after the other, so that one instruction of the processor works on several nodes.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LAWS, SIDE, BLOCKS, MODES, LANES = 6, 8, 64, 10, 16
ONE, PAIR, STRETCHED, RATES, DIFFUSION, SIZES = range(LAWS)
NODES = SIDE * SIDE
FILES = NODES // LANES
SUMS = 10  # w, wf, wg, wff, wfg, wgg, wy, wfy, wgy, wyy

# scalars of a trace
N, START, ORIGIN, NOW, SPAN, VARIANCE, CORRELATION, BEGAN, USED_BLOCKS, NEXT, RESOLUTION, DRIFT, SCATTER = range(13)
USED_FILES, LOW, HIGH = range(13, 16)
# rows of the blocks
TIME, VALUE, COUNT, WEIGHT = range(4)
# what is known of a law's square: its middle, the lower triangle of its half width (a, ab, b), the logarithm of its
# size, what its best node leaves in units of the noise's variance, its first file in use and the one after its last,
# and how many times more it is passed over
MIDDLE_A, MIDDLE_B, REACH_A, REACH_AB, REACH_B, AREA, MISFIT, FIRST_FILE, LAST_FILE, ASLEEP = range(10)
# rows of a file, as places of their first number: coordinates, and as the law uses them; what is expected of them; the
# law's two functions; ten sums; the solution; shares of diffusion
_ROWS = 27 + 2 * (MODES + 1)
A, B, P, Q, EXPECTED, F, G, S0 = range(0, 8 * LANES, LANES)
END, END_VARIANCE, EVIDENCE, FIRST, SECOND, LEFT = range(17 * LANES, 23 * LANES, LANES)
CENTRE, SPREAD, SHARE = range(23 * LANES, 26 * LANES, LANES)
APART, SHARES, MORE_SHARES = 26 * LANES, 27 * LANES, (28 + MODES) * LANES
# rows of a file of the mixture: centres, spreads and shares; each one's part of a probability and of its density
AT, WIDE, PART, BELOW, DENSITY = range(0, 5 * LANES, LANES)
FILE, MIXED = _ROWS * LANES, 5 * LANES
NOT_IN_USE = -1e300

# where each law's coordinates are expected, before there are data: see decays.py
MIDDLES = ((3.9, 1.6), (3.4, 1.6), (4.0, 0.7), (3.5, 1.2), (5.0, 1.6), (4.0, 1.2))
WIDTHS = ((1.1, 0.5), (1.0, 0.8), (1.1, 0.2), (1.1, 0.8), (1.2, 0.6), (1.1, 0.5))


class Room(NamedTuple):
    """All arrays of one trace."""

    scalars: Any
    blocks: Any
    squares: Any  # a row a law
    grid: Any  # the files of one law's square
    used: Any  # the files of all nodes in use, law after law
    mixture: Any  # where those with a share worth counting say the trace ends, in files


def new_room(resolution: float, drift: float) -> Room:
    """An empty room.

    resolution: the last digit of the readings [1].
    drift: standard uncertainty of the instrument's own drift [1/s].
    """
    scalars = np.zeros(16)
    scalars[RESOLUTION], scalars[DRIFT] = resolution, drift
    squares = np.zeros((LAWS, 10))
    squares[:, MIDDLE_A : MIDDLE_B + 1] = MIDDLES
    squares[:, REACH_A], squares[:, REACH_B] = np.array(WIDTHS).T
    grid, used, mixture = (np.zeros(count) for count in (FILES * FILE, LAWS * FILES * FILE, LAWS * FILES * MIXED))
    return Room(scalars, np.zeros((4, BLOCKS)), squares, grid, used, mixture)

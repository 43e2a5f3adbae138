"""The room that the kernels of one trace work in; they allocate nothing.

A trace is compressed into blocks of samples whose width grows with time. Four laws of decay are looked at, each with
two nonlinear coordinates: a square of nodes lies over what the data leave possible of them. At a node the prediction

    y = c_0 + c_1 f(t) + c_2 g(t)

is linear in its coefficients, c_0 the value it ends at; ten sums a node are all that a new sample has to change.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LAWS, SIDE, BLOCKS, MODES = 4, 9, 64, 10
STRETCHED, PAIR, RATES, DIFFUSION = range(LAWS)
NODES = SIDE * SIDE
SUMS = 10  # w, wf, wg, wff, wfg, wgg, wy, wfy, wgy, wyy

# scalars of a trace
N, START, ORIGIN, NOW, SPAN, VARIANCE, CORRELATION, BEGAN, USED_BLOCKS, NEXT, RESOLUTION, DRIFT, SCATTER = range(13)
# rows of the blocks
TIME, VALUE, COUNT, WEIGHT = range(4)
# what a node's solution holds
END, END_VARIANCE, EVIDENCE, FIRST, SECOND, MISFIT = range(6)
# rows of the mixture
CENTRE, SPREAD, SHARE = range(3)
NOT_IN_USE = -1e300

# where each law's coordinates are expected, before there are data: see decays.py
EXPECTED = ((4.0, 0.7), (3.4, 1.6), (3.5, 1.2), (5.0, 1.6))
WIDTHS = ((1.1, 0.2), (1.0, 0.8), (1.1, 0.8), (1.2, 0.6))


class Room(NamedTuple):
    """All arrays of one trace."""

    scalars: Any
    blocks: Any
    middle: Any  # a law's centre of nodes
    reach: Any  # lower triangle of the square's half width: a, ab, b
    coordinates: Any
    shape: Any  # the coordinates as the law uses them
    modes: Any
    sums: Any
    weight: Any  # logarithm of a node's share, up to a constant; NOT_IN_USE where it has none
    area: Any  # logarithm of the size of a law's square
    misfit: Any  # what a law's best node leaves, in units of the noise's variance
    solution: Any
    mixture: Any


def new_room(resolution: float, drift: float) -> Room:
    """An empty room.

    resolution: the last digit of the readings [1].
    drift: standard uncertainty of the instrument's own drift [1/s].
    """
    scalars = np.zeros(16)
    scalars[RESOLUTION], scalars[DRIFT] = resolution, drift
    reach = np.array([(first, 0.0, second) for first, second in WIDTHS])
    return Room(
        scalars=scalars,
        blocks=np.zeros((4, BLOCKS)),
        middle=np.array(EXPECTED),
        reach=reach,
        coordinates=np.zeros((LAWS, NODES, 2)),
        shape=np.zeros((LAWS, NODES, 2)),
        modes=np.zeros((NODES, MODES)),
        sums=np.zeros((LAWS, NODES, SUMS)),
        weight=np.full((LAWS, NODES), NOT_IN_USE),
        area=np.zeros(LAWS),
        misfit=np.zeros(LAWS),
        solution=np.zeros(6),
        mixture=np.zeros((3, LAWS * NODES)),
    )

"""The curve of the node that carries most, beyond the last sample."""

from __future__ import annotations

from isohume.bench.reading.settling.kernels.compiled import inlined, kernel
from isohume.bench.reading.settling.kernels.decays import functions
from isohume.bench.reading.settling.kernels.layout import (
    FILE,
    FIRST,
    FIRST_FILE,
    LANES,
    LAST_FILE,
    LAWS,
    SECOND,
    SHARE,
    F,
    G,
)


@inlined
def best_node(room):
    """The law, the file and the place in it of the node with the largest share."""
    best, law, place, lane = -1.0, 0, 0, 0
    for which in range(LAWS):
        for n in range(int(room.squares[which, FIRST_FILE]), int(room.squares[which, LAST_FILE])):
            for k in range(LANES):
                share = room.used[n * FILE + SHARE + k]
                if share > best:
                    best, law, place, lane = share, which, n, k
    return law, place, lane


@kernel
def changes(room, times, window, out):
    """By how much the best node's curve moves from `window` before each time to it."""
    which, n, k = best_node(room)
    file = room.used[n * FILE : (n + 1) * FILE]
    for i in range(times.size):
        functions(which, file, times[i])
        f, g = file[F + k], file[G + k]
        functions(which, file, max(times[i] - window, 0.0))
        out[i] = file[FIRST + k] * (f - file[F + k]) + file[SECOND + k] * (g - file[G + k])

"""The curve of the node that carries most, beyond the last sample."""

from __future__ import annotations

from isohume.bench.reading.settling.kernels.compiled import kernel
from isohume.bench.reading.settling.kernels.decays import as_used, beside, expected, law
from isohume.bench.reading.settling.kernels.layout import (
    EVIDENCE,
    FIRST,
    LAWS,
    NODES,
    NOT_IN_USE,
    SECOND,
)
from isohume.bench.reading.settling.kernels.node import solve


@kernel
def best_node(room):
    """The law and the node with the largest share."""
    best, law_of_best, node = NOT_IN_USE, 0, 0
    for which in range(LAWS):
        for k in range(NODES):
            if room.weight[which, k] > NOT_IN_USE:
                solve(which, room.sums[which, k], room.scalars, room.solution)
                share = room.solution[EVIDENCE] + room.area[which]
                share += expected(which, room.coordinates[which, k, 0], room.coordinates[which, k, 1])
                if share > best:
                    best, law_of_best, node = share, which, k
    return law_of_best, node


@kernel
def change_of_node(room, which, node, t, window):
    """By how much a node's curve moves from `window` before t to t."""
    out, shape, modes = room.solution, room.shape[which, node], room.modes[node]
    as_used(which, room.coordinates[which, node, 0], room.coordinates[which, node, 1], shape, modes)
    solve(which, room.sums[which, node], room.scalars, out)
    before = max(t - window, 0.0)
    first = law(which, shape[0], shape[1], modes, t) - law(which, shape[0], shape[1], modes, before)
    return out[FIRST] * first + out[SECOND] * (beside(which, shape[1], t) - beside(which, shape[1], before))

"""The step of Levenberg and Marquardt by QR: no normal equations, which would square the condition of the problem."""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.layout import FREE, SCALE, STEP, TAIL, TRIANGLE
from isohume.product.sorption.kernels.projection import APART, dot, take


@inlined
def _square(w, damped, k, q, small):
    """The square of row `damped` + k with its tail."""
    total = dot(w, damped + k, damped + k)
    for i in range(q):
        total += small[TAIL + k, i] * small[TAIL + k, i]
    return total


@inlined
def _orthogonal(w, damped, k, q, marks, small):
    """Row `damped` + k, with its tail of damping, made orthogonal to those before it, twice where digits were lost."""
    for m in range(k):
        small[TRIANGLE + m, k] = 0.0
    whole = _square(w, damped, k, q, small)
    for turn in range(2 * k):
        m = turn if turn < k else turn - k
        if turn == k and _square(w, damped, k, q, small) > APART * whole:
            break
        if marks[FREE + m]:
            share = dot(w, damped + m, damped + k)
            for i in range(q):
                share += small[TAIL + m, i] * small[TAIL + k, i]
            small[TRIANGLE + m, k] += share
            take(w, damped + k, share, damped + m)
            for i in range(q):
                small[TAIL + k, i] -= share * small[TAIL + m, i]
    size = np.sqrt(_square(w, damped, k, q, small) if k > 0 else whole)
    small[TRIANGLE + k, k] = size
    if size > 0.0:
        for i in range(w.shape[1]):
            w[damped + k, i] *= 1.0 / size
        for i in range(q):
            small[TAIL + k, i] *= 1.0 / size


@inlined
def damped_step(w, jac, r, damped, q, damping, marks, small):
    """The step of least || r + J^T step ||^2 + damping || scale step ||^2 over the free coordinates.

    Returns how much of the sum of squares the step promises to take away, its damping left aside.
    """
    for k in range(q):
        small[STEP, k] = 0.0
        if marks[FREE + k]:
            for i in range(w.shape[1]):
                w[damped + k, i] = w[jac + k, i]
            for i in range(q):
                small[TAIL + k, i] = 0.0
            small[TAIL + k, k] = np.sqrt(damping) * small[SCALE, k]
            _orthogonal(w, damped, k, q, marks, small)
    gain = 0.0
    for k in range(q - 1, -1, -1):
        if marks[FREE + k] and small[TRIANGLE + k, k] > 0.0:
            total = -dot(w, damped + k, r)
            gain += total * total
            for m in range(k + 1, q):
                if marks[FREE + m]:
                    total -= small[TRIANGLE + k, m] * small[STEP, m]
            small[STEP, k] = total / small[TRIANGLE + k, k]
    return gain

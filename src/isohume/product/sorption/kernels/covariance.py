"""The covariance of the printed parameters at an optimum of the separable problem."""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.layout import COEFFICIENT, TRIANGLE, UPPER, WIDTH
from isohume.product.sorption.kernels.projection import dot, take
from isohume.product.sorption.models.dispatch import natural

_SINGULAR = 1e-26  # squared share of a tangent off the others below which two parameters cannot be told apart


@inlined
def _row(j, p, phi, direct):
    return phi + j if j < p else direct + j - p


@inlined
def invert_information(w, p, q, phi, direct, used, upper, inverse):
    """R^-1 of the QR of the Jacobian (rows phi, then direct) over the coordinates in use; False where it is singular.

    The rows are made orthogonal in place: nobody needs them afterwards.
    """
    for j in range(p + q):
        for i in range(p + q):
            inverse[i, j] = 0.0
        if not used[j]:
            continue
        mine = _row(j, p, phi, direct)
        whole = dot(w, mine, mine)
        for m in range(j):
            if used[m]:
                upper[m, j] = dot(w, _row(m, p, phi, direct), mine)
                take(w, mine, upper[m, j], _row(m, p, phi, direct))
        left = dot(w, mine, mine)
        if not left > _SINGULAR * whole:
            return False
        upper[j, j] = np.sqrt(left)
        for i in range(w.shape[1]):
            w[mine, i] /= upper[j, j]
        inverse[j, j] = 1.0 / upper[j, j]
        for i in range(j - 1, -1, -1):
            if used[i]:
                for m in range(i + 1, j + 1):
                    if used[m]:
                        inverse[i, j] -= upper[i, m] * inverse[m, j]
                inverse[i, j] /= upper[i, i]
    return True


@inlined
def natural_covariance(w, k, theta, low, high, p, phi, direct, marks, small, parameters, cov):
    """(J^T J)^-1 in the printed parameters; a coordinate on an end of its box, or a row left out, is held there."""
    q = theta.size
    size = p + q
    for h in range(q):
        marks[p + h] = low[h] < theta[h] < high[h]
    slopes, inverse = small[TRIANGLE : TRIANGLE + WIDTH], small[UPPER : UPPER + WIDTH]
    cov[:, :] = np.nan
    sound = invert_information(w, p, q, phi, direct, marks, slopes, inverse)
    slopes[:, :] = 0.0
    natural(k, small[COEFFICIENT], theta, parameters, slopes)
    if not sound:
        return  # the points cannot tell two parameters apart
    for i in range(size):
        for j in range(size):
            cov[i, j] = 0.0
            for m in range(size):
                for other in range(size):
                    shared = 0.0
                    for l in range(max(m, other), size):  # noqa: E741
                        shared += inverse[m, l] * inverse[other, l]
                    cov[i, j] += slopes[i, m] * shared * slopes[j, other]

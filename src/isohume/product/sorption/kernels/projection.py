"""Linear coefficients eliminated: the residual of the best linear combination, and its exact derivative.

Golub & Pereyra (1973): for y - Phi(theta) c with c = Phi^+ y,

    r = P y,  dr/dtheta_k = -P dPhi_k c - (Phi^+)^T dPhi_k^T r,  P = I - Q Q^T, Phi = Q R

All arrays of points are rows of one block `w` (see layout.py): inner loops run over contiguous numbers, and a call
hands over one block instead of twenty arrays, which is most of the speed.
"""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.layout import COEFFICIENT, SHARE, UPPER

_DEPENDENT = 1e-13  # a row whose part off the others is smaller than this share of it adds nothing


@inlined
def dot(w, j, k):
    """The inner product of two rows, in four sums: one sum would wait for each addition to end before the next."""
    n = w.shape[1]
    whole = n - n % 4
    first, second, third, fourth = 0.0, 0.0, 0.0, 0.0
    for i in range(0, whole, 4):
        first += w[j, i] * w[k, i]
        second += w[j, i + 1] * w[k, i + 1]
        third += w[j, i + 2] * w[k, i + 2]
        fourth += w[j, i + 3] * w[k, i + 3]
    for i in range(whole, n):
        first += w[j, i] * w[k, i]
    return (first + second) + (third + fourth)


@inlined
def take(w, j, share, k):
    """Row j less `share` of row k."""
    for i in range(w.shape[1]):
        w[j, i] -= share * w[k, i]


@inlined
def orthonormal(w, first, count, q, used, small):
    """Rows q.. become the Gram-Schmidt base of rows first.. in use, with their triangle; a dependent row drops out."""
    for j in range(count):
        if not used[j]:
            continue
        for i in range(w.shape[1]):
            w[q + j, i] = w[first + j, i]
        whole = dot(w, q + j, q + j)
        left = whole
        for m in range(j):
            small[UPPER + m, j] = 0.0
        for turn in range(2 * j):  # twice over: once loses digits where rows are nearly alike
            m = turn if turn < j else turn - j
            if used[m]:
                share = dot(w, q + m, q + j)
                small[UPPER + m, j] += share
                take(w, q + j, share, q + m)
        if j > 0:
            left = dot(w, q + j, q + j)
        if not left > _DEPENDENT * _DEPENDENT * whole:
            used[j] = False
            continue
        norm = np.sqrt(left)
        small[UPPER + j, j] = norm
        for i in range(w.shape[1]):
            w[q + j, i] *= 1.0 / norm


@inlined
def _coefficients(w, y, p, q, r, used, small):
    """The coefficients, and row r the residual of row y, over the rows in use; returns the sum of squares."""
    for i in range(w.shape[1]):
        w[r, i] = w[y, i]
    for j in range(p):
        small[COEFFICIENT, j] = 0.0
        if used[j]:
            small[COEFFICIENT, j] = dot(w, q + j, r)
            take(w, r, small[COEFFICIENT, j], q + j)
    for j in range(p - 1, -1, -1):
        if used[j]:
            for k in range(j + 1, p):
                if used[k]:
                    small[COEFFICIENT, j] -= small[UPPER + j, k] * small[COEFFICIENT, k]
            small[COEFFICIENT, j] /= small[UPPER + j, j]
    return dot(w, r, r)


@inlined
def _row_to_leave(w, y, first, positive, p, used, small):
    """The row to leave out, because its coefficient came out negative; -1 where none did.

    With two violated rows the one that alone explains less goes: exact, because one of the two must.
    """
    worst, violated = -1, 0
    for j in range(p):
        if used[j] and positive[j] and small[COEFFICIENT, j] < 0.0:
            violated += 1
            if worst < 0 or (
                small[COEFFICIENT, j] * small[UPPER + j, j] < small[COEFFICIENT, worst] * small[UPPER + worst, worst]
            ):
                worst = j
    if violated == 2 and p == 2:
        alone = dot(w, first, y) / np.sqrt(dot(w, first, first))
        worst = 1 if alone > dot(w, first + 1, y) / np.sqrt(dot(w, first + 1, first + 1)) else 0
    return worst


@inlined
def project(w, y, first, positive, p, q, r, used, small):
    """The best coefficients, those marked positive not below zero; returns the sum of squares of the residual r."""
    for j in range(p):
        used[j] = True
    total = 0.0
    for _ in range(p + 1):
        orthonormal(w, first, p, q, used, small)
        total = _coefficients(w, y, p, q, r, used, small)
        worst = _row_to_leave(w, y, first, positive, p, used, small)
        if worst < 0:
            break
        used[worst] = False
    return total


@inlined
def project_slope(w, slopes, p, q, r, direct, jac, used, small):
    """Row jac becomes dr/dtheta, from row `direct`, d(prediction)/dtheta at fixed coefficients, and the dphi rows."""
    for i in range(w.shape[1]):
        w[jac, i] = -w[direct, i]
    for j in range(p):
        if used[j]:
            z = dot(w, slopes + j, r)  # z solves R^T z = dPhi^T r
            for m in range(j):
                if used[m]:
                    z -= small[UPPER + m, j] * small[SHARE, m]
            small[SHARE, j] = z / small[UPPER + j, j]
            take(w, jac, dot(w, q + j, jac) + small[SHARE, j], q + j)

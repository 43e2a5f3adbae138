"""Linear coefficients eliminated: the residual of the best linear combination, and its exact derivative.

Golub & Pereyra (1973): for y - Phi(theta) c with c = Phi^+ y,

    r = P y,  dr/dtheta_k = -P dPhi_k c - (Phi^+)^T dPhi_k^T r,  P = I - Q Q^T, Phi = Q R

All arrays of points are rows of one block `w` (see layout.py): inner loops run over contiguous numbers, and a call
hands over one block instead of twenty arrays, which is most of the speed.
"""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import arithmetic, inlined
from isohume.product.sorption.kernels.layout import COEFFICIENT, SHARE, UPPER

_DEPENDENT = 1e-13  # a row whose part off the others is smaller than this share of it adds nothing
APART = 0.1  # a row that keeps this share of its square when the others are taken out loses no digits


@arithmetic
def dot_across(v, j, w, k):
    """The inner product of rows of two blocks, in eight sums, as vector instructions make it: one would wait."""
    n = w.shape[1]
    whole = n - n % 8
    s0, s1, s2, s3, s4, s5, s6, s7 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(0, whole, 8):
        s0 += v[j, i] * w[k, i]
        s1 += v[j, i + 1] * w[k, i + 1]
        s2 += v[j, i + 2] * w[k, i + 2]
        s3 += v[j, i + 3] * w[k, i + 3]
        s4 += v[j, i + 4] * w[k, i + 4]
        s5 += v[j, i + 5] * w[k, i + 5]
        s6 += v[j, i + 6] * w[k, i + 6]
        s7 += v[j, i + 7] * w[k, i + 7]
    for i in range(whole, n):
        s0 += v[j, i] * w[k, i]
    return ((s0 + s4) + (s2 + s6)) + ((s1 + s5) + (s3 + s7))


@inlined
def dot(w, j, k):
    """The inner product of two rows of a block."""
    return dot_across(w, j, w, k)


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
        for turn in range(2 * j):
            m = turn if turn < j else turn - j
            if m == 0 and turn > 0 and left > APART * whole:
                break  # a second time only where rows are nearly alike, and digits were lost
            if used[m]:
                share = dot(w, q + m, q + j)
                small[UPPER + m, j] += share
                take(w, q + j, share, q + m)
            if m == j - 1:
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

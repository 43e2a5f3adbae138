"""Refits of resampled points, warm-started from the optimum: thousands in the time of one plain fit."""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import kernel
from isohume.product.sorption.kernels.layout import (
    COEFFICIENT,
    FEATURES,
    HIGH,
    LINEAR,
    LOW,
    NONLINEAR,
    PLAN,
    POSITIVE,
    SMALL_ROWS,
    TRIANGLE,
    TRIED,
    WIDTH,
    G,
    S,
    Y,
    row_count,
    rows_of,
)
from isohume.product.sorption.kernels.search import solve
from isohume.product.sorption.models.dispatch import curve, features, natural

MOST = 40  # steps of one warm solve
ENOUGH = 1e-10  # relative gain that ends it: far below what the draws differ by


def room_size(n: int, m: int, p: int, q: int) -> int:
    """How many numbers of room `refit` needs."""
    return SMALL_ROWS * WIDTH + row_count(m, p, q, 0) * n


@kernel
def refit(k, a, t, fitted, errors, s, order, whole, real, theta, room, marks, out, ends):
    """Row by row of `order`: the fitted moistures plus the errors in that order, fitted again; printed parameters out.

    errors are in units of 1/s; ends tells how each solve ended.
    """
    n = a.size
    m, p, q = whole[k, FEATURES], whole[k, LINEAR], whole[k, NONLINEAR]
    low, high, positive = real[k, LOW : LOW + q], real[k, HIGH : HIGH + q], whole[k, POSITIVE:PLAN]
    small = room[: SMALL_ROWS * WIDTH].reshape((SMALL_ROWS, WIDTH))
    phi, _offset, _wy, _base, _jac, _kept, _r, _kept_r, _direct, damped = rows_of(m, p, q, 0)
    rows = damped + q
    w = room[SMALL_ROWS * WIDTH : SMALL_ROWS * WIDTH + rows * n].reshape((rows, n))
    for i in range(n):
        w[S, i] = s[i]
    features(k, a, t, w[G:phi])
    slopes = small[TRIANGLE : TRIANGLE + WIDTH]
    for draw in range(order.shape[0]):
        for i in range(n):
            w[Y, i] = fitted[i] + errors[order[draw, i]] / s[i]
        for h in range(q):
            small[TRIED, h] = theta[h]
        _total, _steps, ends[draw] = solve(
            k, w, m, small[TRIED, :q], low, high, positive, p, marks, small, MOST, ENOUGH, np.inf
        )
        natural(k, small[COEFFICIENT], small[TRIED, :q], out[draw], slopes)


@kernel
def curves_at(k, a, t, parameters, out, point):
    """The moisture of each row of parameters at each a_w, at one temperature."""
    for draw in range(parameters.shape[0]):
        for i in range(a.size):
            curve(k, a[i], t, parameters[draw], point)
            out[draw, i] = point[0]

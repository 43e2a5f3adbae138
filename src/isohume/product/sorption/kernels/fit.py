"""Fits of many models to one set of points in one compiled call: scan of starts, best solves, covariance, figures."""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined, kernel
from isohume.product.sorption.kernels.covariance import natural_covariance
from isohume.product.sorption.kernels.layout import (
    FEATURES,
    GREATEST,
    HIGH,
    LEAST,
    LINEAR,
    LOW,
    NONLINEAR,
    SMALL_ROWS,
    WIDTH,
    G,
    S,
    Y,
    padded,
    row_count,
    rows_of,
)
from isohume.product.sorption.kernels.search import RANKS, search
from isohume.product.sorption.models.dispatch import features

# columns of the figures
POINTS, WEIGHTED_SSE, SSE, STANDARD_ERROR, MRD, AICC, STEPS, ENDED, FIGURES = 0, 1, 2, 3, 4, 5, 6, 7, 8
# where things stand in a model's row of the output: printed parameters, coordinates, figures, covariance
VALUES, THETA, NUMBERS, COVARIANCE, OUTPUT = 0, WIDTH, 2 * WIDTH, 2 * WIDTH + FIGURES, 2 * WIDTH + FIGURES + WIDTH**2


@inlined
def describe(w, n, r, size, weighted, figures):
    """Sums, standard error, mean relative deviation and the corrected information criterion of one fit."""
    sse, deviation = 0.0, 0.0
    for i in range(n):
        e = w[r, i] / w[S, i]
        sse += e * e
        deviation += abs(e / w[Y, i])
    figures[WEIGHTED_SSE] = weighted
    figures[SSE] = sse
    figures[STANDARD_ERROR] = np.sqrt(sse / (n - size)) if n > size else np.nan
    figures[MRD] = 100.0 * deviation / n
    free = size + 1  # the variance is estimated too
    if n > free + 1:
        figures[AICC] = n * np.log(weighted / n) + 2 * free + 2 * free * (free + 1) / (n - free - 1)


@inlined
def select(low, high, a, t, x, s, points):
    """The points inside a model's range, as rows a, t, x, s of `points`; returns how many.

    Beyond them the first one stands again, with no weight, up to a number of columns that vector instructions like.
    """
    n = 0
    for i in range(a.size):
        if low <= a[i] <= high:
            points[0, n], points[1, n], points[2, n], points[3, n] = a[i], t[i], x[i], s[i]
            n += 1
    for i in range(n, padded(n)):
        points[0, i], points[1, i], points[2, i], points[3, i] = points[0, 0], points[1, 0], points[2, 0], 0.0
    return n


def room_size(n: int, m: int, p: int, q: int, starts: int, places: int) -> int:
    """How many numbers of room `fit_models` needs for the largest of its models."""
    width = padded(n)
    return 4 * width + SMALL_ROWS * WIDTH + RANKS + 3 * starts + 2 * places + (row_count(m, p, q, 0) + places) * width


@inlined
def fit_one(k, n, points, whole, real, room, small, marks, output):
    """One model fitted to the first n columns of `points`; its row of the output is filled."""
    m, p, q = whole[FEATURES], whole[LINEAR], whole[NONLINEAR]
    low, high, theta = real[LOW : LOW + q], real[HIGH : HIGH + q], output[THETA : THETA + q]
    phi, _offset, _wy, _base, _jac, _kept, r, _kept_r, direct, damped = rows_of(m, p, q, 0)
    width, rows = padded(n), damped + q
    w, grid_room = room[: rows * width].reshape((rows, width)), room[rows * width :]
    for i in range(width):
        w[Y, i], w[S, i] = points[2, i], points[3, i]
    features(k, points[0, :width], points[1, :width], w[G:phi])
    best, steps, ended = search(k, w, whole, real, low, high, marks, small, theta, grid_room)
    covariance = output[COVARIANCE:OUTPUT].reshape((WIDTH, WIDTH))
    natural_covariance(w, k, theta, low, high, p, phi, direct, marks, small, output[VALUES:THETA], covariance)
    figures = output[NUMBERS:COVARIANCE]
    describe(w, n, r, p + q, best, figures)
    figures[STEPS], figures[ENDED] = steps, ended


@kernel
def fit_models(which, least, most, a, t, x, s, whole, real, room, marks, output):
    """Fits models `which` to the points from `least` to `most` inside each one's range; one row of output for each.

    whole, real: the models, packed (see layout.py). The covariance is (J^T J)^-1, not yet scaled by a variance.
    """
    size = a.size
    width = padded(size)
    at = 4 * width + SMALL_ROWS * WIDTH
    points = room[: 4 * width].reshape((4, width))
    small = room[4 * width : at].reshape((SMALL_ROWS, WIDTH))
    for row in range(which.size):
        k = which[row]
        n = select(max(least, real[k, LEAST]), min(most, real[k, GREATEST]), a, t, x, s, points)
        for column in range(NUMBERS, COVARIANCE):
            output[row, column] = np.nan
        output[row, NUMBERS + POINTS] = n
        if n >= whole[k, LINEAR] + whole[k, NONLINEAR]:
            fit_one(k, n, points, whole[k], real[k], room[at:], small, marks, output[row])

"""Fits of many models to one set of points in one compiled call: scan of starts, best solves, covariance, figures."""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined, kernel
from isohume.product.sorption.kernels.covariance import natural_covariance
from isohume.product.sorption.kernels.layout import SMALL_ROWS, TRIED, WIDTH, G, S, Y, row_count, rows_of
from isohume.product.sorption.kernels.separable import ALIKE, solver_for
from isohume.product.sorption.models.dispatch import basis, features

MOST = 200  # steps of one solve
ROUGH = 1e-3  # a relative gain that ends the solves which only find out where the optimum lies
# columns of the figures
POINTS, WEIGHTED_SSE, SSE, STANDARD_ERROR, MRD, AICC, STEPS, ENDED, FIGURES = 0, 1, 2, 3, 4, 5, 6, 7, 8

solve = solver_for(basis, 0)


@inlined
def search(k, w, m, starts, plan, low, high, positive, p, marks, small, theta, promise):
    """Looks at every start, solves from the most promising, and solves once more from the best of those.

    plan: how many starts, how many of them make a block of which one at most is followed, how many are followed.
    The last solve leaves the state of the optimum in the blocks. One place calls the solver: it is long, and each place
    where it is called is compiled on its own.
    """
    q = theta.size
    count, block = plan[0], plan[1]
    follow = min(plan[2], count // block) if q > 0 else 0
    best, steps, ended = np.inf, 0, 0
    for turn in range(count + follow + 1):
        most, source, alike, target = MOST, 0, ALIKE, np.inf
        if turn < count:
            most, source = 0, turn
        elif turn < count + follow:
            for i in range(count):
                if promise[i] < promise[source]:
                    source = i
            first = source - source % block
            for i in range(first, first + block):
                promise[i] = np.inf
            alike, target = ROUGH, best
        for h in range(q):
            small[TRIED, h] = starts[source, h] if turn < count + follow else theta[h]
        total, taken, end = solve(k, w, m, small[TRIED, :q], low, high, positive, p, marks, small, most, alike, target)
        steps += taken
        if turn < count:
            promise[turn] = total
        elif total <= best:
            best, ended = total, end
            for h in range(q):
                theta[h] = small[TRIED, h]
    return best, steps, ended


@inlined
def describe(w, r, size, weighted, figures):
    """Sums, standard error, mean relative deviation and the corrected information criterion of one fit."""
    n = w.shape[1]
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
    """The points inside a model's range, as rows a, t, x, s of `points`; returns how many."""
    n = 0
    for i in range(a.size):
        if low <= a[i] <= high:
            points[0, n], points[1, n], points[2, n], points[3, n] = a[i], t[i], x[i], s[i]
            n += 1
    return n


def room_size(n: int, m: int, p: int, q: int, starts: int) -> int:
    """How many numbers of room `fit_models` needs for the largest of its models."""
    return 4 * n + SMALL_ROWS * WIDTH + starts + row_count(m, p, q, 0) * n


@inlined
def fit_one(
    k, n, points, plan, m, p, q, low, high, positive, starts, room, small, marks, parameters, cov, theta, figures
):  # fmt: skip
    """One model fitted to the first n columns of `points`; its rows of the outputs are filled."""
    phi, _offset, _wy, _base, _jac, _kept, r, _kept_r, direct, damped = rows_of(m, p, q, 0)
    rows = damped + q
    count = plan[0]
    w = room[count : count + rows * n].reshape((rows, n))
    for i in range(n):
        w[Y, i], w[S, i] = points[2, i], points[3, i]
    features(k, points[0, :n], points[1, :n], w[G:phi])
    best, steps, ended = search(
        k, w, m, starts, plan, low, high, positive, p, marks, small, theta[:q], room[:count]
    )  # fmt: skip
    natural_covariance(w, k, theta[:q], low, high, p, phi, direct, marks, small, parameters, cov)
    describe(w, r, p + q, best, figures)
    figures[STEPS], figures[ENDED] = steps, ended


@kernel
def fit_models(
    which, a, t, x, s, counts, ranges, low, high, positive, starts, start_counts, room, marks,
    values, cov, theta, figures
):  # fmt: skip
    """Fits models `which` to the points inside each one's range; rows of the outputs are in the order of `which`.

    counts: (features, linear, nonlinear) of every model; cov is (J^T J)^-1, not yet scaled by a variance.
    """
    size = a.size
    at = 4 * size + SMALL_ROWS * WIDTH
    points = room[: 4 * size].reshape((4, size))
    small = room[4 * size : at].reshape((SMALL_ROWS, WIDTH))
    for row in range(which.size):
        k = which[row]
        m, p, q = counts[k, 0], counts[k, 1], counts[k, 2]
        n = select(ranges[k, 0], ranges[k, 1], a, t, x, s, points)
        figures[row, :] = np.nan
        figures[row, POINTS] = n
        if n >= p + q:
            fit_one(
                k, n, points, start_counts[k], m, p, q, low[k], high[k], positive[k], starts[k], room[at:], small,
                marks, values[row], cov[row], theta[row], figures[row],
            )  # fmt: skip

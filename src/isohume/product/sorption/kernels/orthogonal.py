"""Fits in a_w, and with errors in both: the distance of each point from the curve, in standard uncertainties.

A point's distance is min over a of ((x - X(a))/u_x)^2 + ((a_i - a)/u_a)^2. With the foot of the perpendicular found,
its derivative by a parameter is -dX/dp / sqrt(u_x^2 + X'^2 u_a^2): the foot moves, but to first order that changes
nothing. u_x = 0 leaves the distance in a_w alone, u_a = 0 that in moisture.
"""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined, kernel
from isohume.product.sorption.kernels.evaluation import root_between
from isohume.product.sorption.kernels.layout import SMALL_ROWS, WIDTH, G, S, row_count, rows_of
from isohume.product.sorption.kernels.separable import ALIKE, solver_for
from isohume.product.sorption.models.dispatch import curve

_STEPS = 60
FEATURES = 7  # a, x, t, u_a, u_x, foot, and a row whose head holds:
LOW, HIGH, COUNT, COLUMNS = 10, 11, 12, 13  # room for one point of a curve, the range of a_w, and the number of points
TRY = 8  # where the state's room for a start begins
MOST = 300  # steps of one solve


@inlined
def foot_of(k, a, x, t, ua, ux, p, low, high, point):
    """The a_w of the nearest point of the curve, by Newton's steps on the slope of the distance, from a."""
    if ua == 0.0:
        return a
    if ux == 0.0:
        foot = root_between(k, x, t, p, low, high, point)
        if foot == foot:
            return foot
        curve(k, low, t, p, point)  # the curve does not reach x in the range: its end nearer to x
        return low if (x < point[0]) == (point[1] > 0.0) else high
    foot = a
    for _ in range(_STEPS):
        curve(k, foot, t, p, point)
        slope = point[1] / ux
        # Gauss and Newton: the curve's bend enters the distance in the second order only
        step = ((foot - a) / (ua * ua) - (x - point[0]) / ux * slope) / (1.0 / (ua * ua) + slope * slope)
        new = min(max(foot - step, low), high)
        if abs(new - foot) <= 1e-15 + 1e-14 * abs(foot):
            return new
        foot = new
    return foot


@inlined
def distances(k, g, theta, rows):
    """Row 0 the negative of the signed distances (what is predicted of zero), then their derivatives.

    A distance has the sign of x less the curve at a. In a_w alone it is (X^-1(x) - a)/u_a, and where the curve does not
    reach x, its tangent at the end is followed.
    """
    point, p = g[6, :LOW], theta
    low, high = g[6, LOW], g[6, HIGH]
    for i in range(int(g[6, COUNT])):
        a, x, t, ua, ux = g[0, i], g[1, i], g[2, i], g[3, i], g[4, i]
        foot = foot_of(k, a, x, t, ua, ux, p, low, high, point)
        curve(k, foot, t, p, point)
        g[5, i] = foot
        off = x - point[0]
        spread = np.sqrt(ux * ux + point[1] * point[1] * ua * ua)
        if ux == 0.0:
            rows[0, i] = (a - foot - off / point[1]) / ua
        else:
            across = (a - foot) / ua if ua > 0.0 else 0.0
            sign = 1.0 if (off > 0.0 or (off == 0.0 and across * point[1] < 0.0)) else -1.0
            rows[0, i] = -sign * np.sqrt((off / ux) ** 2 + across * across)
        for j in range(theta.size):
            rows[1 + j, i] = point[2 + j] / spread


solve = solver_for(distances, 1)


def room_size(n: int, q: int) -> int:
    """How many numbers of room `fit_distances` needs."""
    return SMALL_ROWS * WIDTH + row_count(FEATURES, 0, q, 1) * n


@inlined
def _laid_out(points, n, low_a_w, high_a_w, w):
    """The points in their feature rows; columns beyond n are empty, the last row's head holds n and the range."""
    for j in range(w.shape[0]):
        for i in range(w.shape[1]):
            w[j, i] = 0.0
    for i in range(n):
        w[S, i] = 1.0
        for j in range(5):
            w[G + j, i] = points[j, i]
    w[G + 6, LOW], w[G + 6, HIGH], w[G + 6, COUNT] = low_a_w, high_a_w, n


@kernel
def fit_distances(k, points, low_a_w, high_a_w, starts, low, high, positive, room, marks, theta, feet, slopes, state):
    """Solves from every start (rows, printed parameters); theta the best, `slopes` d(distance)/dp there.

    points: rows a, x, t, u_a, u_x, with COLUMNS or more (n of them used, state[0]); state then holds the sum of
    squares, steps and how it ended.
    """
    n, q = int(state[0]), theta.size
    at = SMALL_ROWS * WIDTH
    small = room[:at].reshape((SMALL_ROWS, WIDTH))
    _phi, _offset, _wy, _base, _jac, _kept, _r, _kept_r, direct, damped = rows_of(FEATURES, 0, q, 1)
    w = room[at : at + (damped + q) * points.shape[1]].reshape((damped + q, points.shape[1]))
    _laid_out(points, n, low_a_w, high_a_w, w)
    best = np.inf
    for start in range(starts.shape[0] + 1):
        last = start == starts.shape[0]  # once more from the best, so that its state is what is left
        for h in range(q):
            state[TRY + h] = theta[h] if last else starts[start, h]
        total, steps, ended = solve(
            k, w, FEATURES, state[TRY : TRY + q], low, high, positive, 0, marks, small, MOST, ALIKE, np.inf
        )  # fmt: skip
        if total <= best or last:
            best = total
            state[1], state[2], state[3] = total, steps, ended
            for h in range(q):
                theta[h] = state[TRY + h]
    for i in range(n):
        feet[i] = w[G + 5, i]
        for h in range(q):
            slopes[h, i] = w[direct + h, i]

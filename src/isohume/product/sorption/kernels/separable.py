"""Separable least squares in a box: linear coefficients projected out, the rest by Levenberg-Marquardt steps.

    min over theta in [low, high], c: || s (y - offset(theta) - sum_j c_j phi_j(theta)) ||^2

The one solver of every fit in isohume: isotherms in moisture, in a_w and with errors in both, profiles, and in the
tests the certified nonlinear problems of NIST. A problem without linear coefficients puts all of its prediction into
the offset.
"""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.damped_step import damped_step
from isohume.product.sorption.kernels.layout import COEFFICIENT, FREE, SCALE, STEP, TRIAL, G, S, Y, rows_of
from isohume.product.sorption.kernels.projection import dot, project, project_slope, take

_FIRST_DAMPING = 1e-3
_FLAT = 1e-13  # a cosine between residual and tangent below this cannot be told from rounding
ALIKE = 3e-16  # relative gain of a step below which the sum of squares has no digits left to gain
_NOTHING = 1e-31  # a residual this small against the data is rounding
_SURE = 1e-12  # an optimum promises no more than this relative gain (in a rough search no more than ten of its gains),
_ROUNDING = 1e-30  # or no more than rounding makes up: its square, in a residual, against the square of the data
_SETTLED = 1e3  # a small gain settles the search only where slopes promise no more than this many of it
_GENEROUS = 4.0  # a step may fall short of what is to be gained by this factor
_TRIES = 30
_LONGEST = 0.25  # of the box, that one step may cross
CONVERGED, STALLED, OUT_OF_STEPS, _SEARCHING = 0, 1, 2, 3


@inlined
def _find_free(w, jac, r, theta, low, high, total, marks, small):
    """Which coordinates may move: not those at an end whose slope points outward. Returns the steepest cosine."""
    steepest = 0.0
    for k in range(theta.size):
        slope, length = dot(w, jac + k, r), np.sqrt(dot(w, jac + k, jac + k))
        small[SCALE, k] = max(small[SCALE, k], length)
        marks[FREE + k] = (
            low[k] < high[k] and not (theta[k] <= low[k] and slope > 0.0) and not (theta[k] >= high[k] and slope < 0.0)
        )
        if marks[FREE + k] and length > 0.0 and total > 0.0:
            steepest = max(steepest, abs(slope) / (length * np.sqrt(total)))
    return steepest


@inlined
def _move(w, jac, theta, low, high, damping, again, small):
    """The trial point: theta and the step, held in the box; returns the largest relative move.

    A step crosses a part of the box at most: a coordinate that hardly matters any more would ask for a long one, and
    the damping that shortens it would hold the others still. If that fails its scale grows: its own then shortens it.
    """
    moved = 0.0
    for h in range(theta.size):
        longest = _LONGEST * (high[h] - low[h])
        over = abs(small[STEP, h]) / longest
        if over > 1.0:
            small[STEP, h] /= over
            if again:
                small[SCALE, h] = max(small[SCALE, h], np.sqrt(over * dot(w, jac + h, jac + h) / damping))
        small[TRIAL, h] = min(max(theta[h] + small[STEP, h], low[h]), high[h])
        moved = max(moved, abs(small[TRIAL, h] - theta[h]) / (abs(theta[h]) + 1e-8))
    return moved


@inlined
def _judged(w, wy, total, steepest, promised, alike):
    """How a search that gets no further ended: CONVERGED where neither slopes nor steps promise more than rounding.

    Heavy damping makes steps and their gains small anywhere, so that a small gain alone proves no optimum.
    """
    rounding = _ROUNDING * dot(w, wy, wy)
    bound = max(max(_SURE, 10.0 * alike) * total, rounding + np.sqrt(rounding * total))
    return CONVERGED if promised <= bound and steepest * steepest * total <= bound else STALLED


@inlined
def _begin(theta, small):
    """The first point looked at is theta itself."""
    for h in range(theta.size):
        small[TRIAL, h] = theta[h]
        small[SCALE, h] = 0.0


@inlined
def _keep(w, theta, small, jac, kept_jac, r, kept_r):
    """The trial point becomes theta, its slopes and residual those that are kept."""
    for h in range(theta.size):
        theta[h] = small[TRIAL, h]
        for i in range(w.shape[1]):
            w[kept_jac + h, i] = w[jac + h, i]
    for i in range(w.shape[1]):
        w[kept_r, i] = w[r, i]


def evaluator_for(problem, fixed, compiled=inlined):
    """The reduced residual of one kind of problem."""

    @compiled
    def evaluate(k, w, m, theta, positive, p, q, slopes, marks, small):
        """The reduced residual at theta, its sum of squares returned; with `slopes` its derivative too."""
        phi, offset, wy, base, jac, _kept_jac, r, _kept_r, direct, _damped = rows_of(m, p, q, fixed)
        problem(k, w[G:phi], theta, w[phi:wy])
        n = w.shape[1]
        weigh = wy if slopes else phi + p
        for j in range(phi, weigh):
            for i in range(n):
                w[j, i] *= w[S, i]
        if fixed:
            for i in range(n):
                w[wy, i] = w[S, i] * w[Y, i] - (w[offset, i] if slopes else w[S, i] * w[offset, i])
        total = project(w, wy, phi, positive, p, base, r, marks, small)
        if slopes:
            for h in range(q):
                first = phi + p + h * p
                for i in range(n):
                    w[direct + h, i] = w[offset + 1 + h, i] if fixed else 0.0
                for j in range(p):
                    take(w, direct + h, -small[COEFFICIENT, j], first + j)
                project_slope(w, first, p, base, r, direct + h, jac + h, marks, small)
        return total

    return evaluate


def solver_for(problem, fixed, compiled=inlined):
    """The solver of one kind of problem, to be called from kernels: solve(k, w, m, theta, low, high, ...).

    `problem(k, g, theta, rows)` fills rows with phi, its derivatives and, where `fixed` is 1, the offset and its own.
    It is bound here and not passed along, because a kernel that hands functions around cannot be cached.
    solve moves theta to a local optimum in the box and returns (sum of squares, iterations, how it ended). The blocks
    then hold the coefficients, the residual and d(prediction)/dtheta of the last point looked at, which is the optimum
    where it ended CONVERGED. With `most` 0 it only looks at theta. `alike` is the relative gain not worth another step:
    ALIKE for all the digits there are; `target` is a sum of squares already found elsewhere: a search whose steps do
    not promise to come near it is given up (infinity: never).
    """
    evaluate = evaluator_for(problem, fixed, compiled)

    @compiled
    def solve(k, w, m, theta, low, high, positive, p, marks, small, most, alike, target):
        q = theta.size
        _phi, _offset, wy, _base, jac, kept_jac, r, kept_r, _direct, damped = rows_of(m, p, q, fixed)
        _begin(theta, small)
        for i in range(w.shape[1]):
            w[wy, i] = w[S, i] * w[Y, i]
        total, damping, steepest, promised = np.inf, _FIRST_DAMPING, 1.0, 0.0
        iteration, tries, ended = -1, 0, _SEARCHING
        while True:
            new = evaluate(k, w, m, small[TRIAL, :q], positive, p, q, most > 0, marks, small)
            if most == 0 or ended != _SEARCHING:
                return (new if most == 0 else total), max(iteration, 0), ended
            if new < total or iteration < 0:
                gained, total, tries, iteration = total - new, new, 0, iteration + 1
                damping = damping * 0.1 if iteration > 0 else damping
                _keep(w, theta, small, jac, kept_jac, r, kept_r)
                steepest = _find_free(w, kept_jac, kept_r, theta, low, high, total, marks, small)
                settled = gained <= alike * total and steepest * steepest <= _SETTLED * alike
                if settled or steepest <= _FLAT or total <= _NOTHING * dot(w, wy, wy):
                    return total, iteration, _judged(w, wy, total, steepest, promised if settled else 0.0, alike)
                if iteration == most:
                    return total, iteration, OUT_OF_STEPS
            else:
                damping, tries = max(damping, 1e-12) * 8.0, tries + 1
            gain = damped_step(w, kept_jac, kept_r, damped, q, damping, marks, small)
            promised = gain if tries == 0 else promised
            if tries == 0 and total - _GENEROUS * gain > target:
                return total, iteration, OUT_OF_STEPS
            hopeless = gain <= alike * total
            if hopeless and tries == 0:
                return total, iteration, _judged(w, wy, total, steepest, promised, alike)
            if hopeless or _move(w, kept_jac, theta, low, high, damping, tries > 0, small) < 1e-16 or tries == _TRIES:
                ended = _judged(w, wy, total, steepest, promised, alike)
                _begin(theta, small)  # looks once more at the best point, so that its state is what is left

    return solve

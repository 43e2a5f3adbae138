"""Where an optimum may lie: the sum of squares over a grid of starts, its valleys followed, the best of them solved.

A valley of the grid is a start that promises no less than its neighbours along every axis. Looking at a start costs a
few inner products, a step of the solver ten times that: so the grid is dense and few starts are followed.
"""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined
from isohume.product.sorption.kernels.layout import (
    AXES,
    EVERY,
    FEATURES,
    GRID,
    LINEAR,
    NO_PARTS,
    NONLINEAR,
    PARTS,
    PLACES,
    PLAN,
    POSITIVE,
    STARTS,
    SUM,
    TRIED,
    WIDTH,
    G,
    S,
    Y,
    rows_of,
)
from isohume.product.sorption.kernels.projection import dot_across as dot
from isohume.product.sorption.kernels.separable import solver_for
from isohume.product.sorption.models.dispatch import basis, part

MOST = 200  # steps of one solve
ENOUGH = 1e-14  # a relative gain that ends a fit: parameters then stand to 1e-7 of their standard uncertainty
ROUGH = 1e-3  # a relative gain that ends the solves which only find out where the optimum lies
_ALIKE = 1e-13  # two functions whose squared sine is below this cannot be told apart here
_MANY, _SIZES = 0, 1  # places in a plan: how many valleys are followed at most, how many starts along each axis

_NEAR = 1  # places on the first axis between tops that belong together
_FAR_ABOVE = 8.0  # a valley is not followed where its start lies this many times above the best optimum so far
RANKS = WIDTH * (WIDTH + 1)  # room for the most promising starts

solve = solver_for(basis, 0)


@inlined
def _alone(square, share, positive):
    """What one function explains of the square of y."""
    return share * share / square if square > 0.0 and (share > 0.0 or not positive) else 0.0


@inlined
def _together(aa, ab, bb, ay, by, positive):
    """What two functions explain of the square of y, the coefficients marked positive not below zero."""
    area = aa * bb - ab * ab
    if area > _ALIKE * aa * bb:
        first, second = (bb * ay - ab * by) / area, (aa * by - ab * ay) / area
        if (first >= 0.0 or not positive[0]) and (second >= 0.0 or not positive[1]):
            return first * ay + second * by
    return max(_alone(aa, ay, positive[0]), _alone(bb, by, positive[1]))


@inlined
def look(k, w, theta, positive, p, phi, wy):
    """What the functions at theta explain of the square of y, to the digits that the order of the starts needs."""
    basis(k, w[G:phi], theta, w[phi:wy])
    for j in range(phi, phi + p):
        for i in range(w.shape[1]):
            w[j, i] *= w[S, i]
    aa, ay = dot(w, phi, w, phi), dot(w, phi, w, wy)
    if p == 1:
        return _alone(aa, ay, positive[0])
    ab, bb, by = dot(w, phi, w, phi + 1), dot(w, phi + 1, w, phi + 1), dot(w, phi + 1, w, wy)
    return _together(aa, ab, bb, ay, by, positive)


@inlined
def _place(turn, plan, axes, q, small):
    """The start at a place of the grid, the last axis running first."""
    left, at = turn, 0
    for h in range(q):
        at += plan[_SIZES + h]
    for h in range(q - 1, -1, -1):
        size = plan[_SIZES + h]
        at -= size
        small[TRIED, h] = axes[at + left % size]
        left //= size


@inlined
def _is_valley(turn, plan, q, promise):
    """Whether no neighbour, along an axis or across, explains more."""
    for code in range(3**q):
        left, at, stride, other = code, turn, 1, turn
        for h in range(q - 1, -1, -1):
            size, way = plan[_SIZES + h], left % 3 - 1
            if not 0 <= at % size + way < size:
                other = turn
                break
            other += way * stride
            at, left, stride = at // size, left // 3, stride * size
        if promise[other] > promise[turn]:
            return False
    return True


@inlined
def _found(promise, theta, many, ranks):
    """A start takes its rank among the `many` most promising: rows of `ranks`, a promise and the start."""
    rank = many
    while rank > 0 and promise > ranks[rank - 1, 0]:
        rank -= 1
        if rank + 1 < many:
            for column in range(theta.size + 1):
                ranks[rank + 1, column] = ranks[rank, column]
    if rank < many:
        ranks[rank, 0] = promise
        for h in range(theta.size):
            ranks[rank, 1 + h] = theta[h]


@inlined
def _valleys_of_all(k, w, whole, real, phi, wy, small, promise, ranks):
    """The valleys of a grid, its starts looked at one after the other."""
    q, plan = whole[NONLINEAR], whole[PLAN:]
    for turn in range(whole[STARTS]):
        _place(turn, plan, real[GRID:], q, small)
        promise[turn] = look(k, w, small[TRIED, :q], whole[POSITIVE:PLAN], whole[LINEAR], phi, wy)
    for turn in range(whole[STARTS]):
        if whole[EVERY] or _is_valley(turn, plan, q, promise):
            _place(turn, plan, real[GRID:], q, small)
            _found(promise[turn], small[TRIED, :q], plan[_MANY], ranks)


@inlined
def _products_of_parts(k, w, whole, real, phi, wy, room, promise):
    """Looks at every start of a grid of two coordinates that make parts of their own: each part is made once.

    All inner products of the functions follow from those of the parts. The second coordinate runs slowest.
    """
    first, places, n = whole[AXES], whole[PLACES], w.shape[1]
    squares, shares = room[:places], room[places : 2 * places]
    parts = room[2 * places : (2 + n) * places].reshape((places, n))
    for place in range(places):
        part(k, w[G:phi], 0 if place < first else 1, real[GRID + place], parts[place])
        for i in range(n):
            parts[place, i] *= w[S, i]
        squares[place], shares[place] = dot(parts, place, parts, place), dot(parts, place, w, wy)
    turn = 0
    for other in range(first, places):
        for one in range(first):
            cross = dot(parts, one, parts, other)
            aa, bb, ay, by = squares[one], squares[other], shares[one], shares[other]
            if whole[PARTS] == SUM:
                promise[turn] = _alone(aa + 2.0 * cross + bb, ay + by, whole[POSITIVE])
            else:
                promise[turn] = _together(aa, cross, bb, ay, by, whole[POSITIVE:PLAN])
            turn += 1


@inlined
def _top(places, line, one):
    """Where the parabola through a place and its neighbours has its top, and how high; at an end of the axis there."""
    if one == 0 or one == places.size - 1:
        return places[one], line[one]
    before, after = places[one] - places[one - 1], places[one + 1] - places[one]
    down, up = (line[one] - line[one - 1]) / before, (line[one] - line[one + 1]) / after
    if not down + up > 0.0:
        return places[one], line[one]
    move = 0.5 * (down * after - up * before) / (down + up)
    return places[one] + move, line[one] + move * move * (down + up) / (before + after)


@inlined
def _valleys_of_parts(k, w, whole, real, phi, wy, small, promise, ranks, room):
    """The valleys of a grid of parts: along the first axis to its tops, then from top to top along the second.

    A top stands where no neighbour on the first axis explains more, and is moved to that of the parabola. It is left
    out where the second axis has one beside it that explains more.
    """
    first, second = whole[AXES], whole[AXES + 1]
    axis, across = real[GRID : GRID + first], real[GRID + first : GRID + first + second]
    _products_of_parts(k, w, whole, real, phi, wy, room[2 * first * second :], promise)
    tops, heights = room[: first * second], room[first * second : 2 * first * second]
    for turn in range(first * second):
        one = turn % first
        line = promise[turn - one : turn - one + first]
        heights[turn] = -np.inf
        if not ((one > 0 and line[one - 1] > line[one]) or (one < first - 1 and line[one + 1] > line[one])):
            tops[turn], heights[turn] = _top(axis, line, one)
    for turn in range(first * second):
        if heights[turn] > -np.inf and not _is_below(turn, first, second, heights):
            small[TRIED, 0], small[TRIED, 1] = tops[turn], across[turn // first]
            _found(heights[turn], small[TRIED, :2], whole[PLAN + _MANY], ranks)


@inlined
def _is_below(turn, first, second, heights):
    """Whether a top beside this one on the second axis, no more than a place away on the first, is higher."""
    other, one = turn // first, turn % first
    for near in range(max(one - _NEAR, 0), min(one + _NEAR + 1, first)):
        if other > 0 and heights[(other - 1) * first + near] > heights[turn]:
            return True
        if other < second - 1 and heights[(other + 1) * first + near] > heights[turn]:
            return True
    return False


@inlined
def find_valleys(k, w, whole, real, small, ranks, room):
    """Looks at every start; returns how many valleys of the grid are worth following, the most promising first."""
    m, p, q, count = whole[FEATURES], whole[LINEAR], whole[NONLINEAR], whole[STARTS]
    phi, _offset, wy, _base, _jac, _kept_jac, _r, _kept_r, _direct, _damped = rows_of(m, p, q, 0)
    for i in range(w.shape[1]):
        w[wy, i] = w[S, i] * w[Y, i]
    many = whole[PLAN + _MANY]
    for rank in range(many):
        ranks[rank, 0] = -np.inf
    if whole[PARTS] != NO_PARTS:
        _valleys_of_parts(k, w, whole, real, phi, wy, small, room[:count], ranks, room[count:])
    else:
        _valleys_of_all(k, w, whole, real, phi, wy, small, room[:count], ranks)
    found = 0
    while found < many and ranks[found, 0] > -np.inf:
        found += 1
    return found


@inlined
def search(k, w, whole, real, low, high, marks, small, theta, room):
    """Follows the valleys roughly, where there are several, and solves from the best: the blocks then hold its state.

    One place calls the solver: it is long, and each place where it is called is compiled on its own.
    """
    m, p, q = whole[FEATURES], whole[LINEAR], whole[NONLINEAR]
    positive, ranks = whole[POSITIVE:PLAN], room[:RANKS].reshape((WIDTH, WIDTH + 1))
    found = find_valleys(k, w, whole, real, small, ranks, room[RANKS:]) if q > 0 else 1
    rough = found if found > 1 else 0
    best, steps, ended = np.inf, 0, 0
    square = 0.0
    for i in range(w.shape[1]):
        square += (w[S, i] * w[Y, i]) ** 2
    for turn in range(rough + 1):
        if turn < rough and not whole[EVERY] and square - ranks[turn, 0] > _FAR_ABOVE * best:
            continue
        for h in range(q):
            small[TRIED, h] = theta[h] if rough > 0 and turn == rough else ranks[turn, 1 + h]
        alike, target = (ROUGH, best) if turn < rough else (ENOUGH, np.inf)
        total, taken, end = solve(k, w, m, small[TRIED, :q], low, high, positive, p, marks, small, MOST, alike, target)
        steps += taken
        if total <= best or turn == rough:
            best, ended = total, end
            for h in range(q):
                theta[h] = small[TRIED, h]
    return best, steps, ended

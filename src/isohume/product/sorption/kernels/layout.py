"""Where things stand in the two blocks a solve works in: `w`, rows over the points, and `small`, rows of eight."""

from __future__ import annotations

from isohume.product.sorption.kernels.compiled import inlined

WIDTH = 8  # no problem here has more coefficients, or more nonlinear coordinates, than this
# rows of `small`
UPPER, TRIANGLE, TAIL = 0, WIDTH, 2 * WIDTH  # triangles of the projection and of the damped step, its added rows
COEFFICIENT, SHARE, STEP, SCALE, TRIAL, TRIED = 24, 25, 26, 27, 28, 29
SMALL_ROWS = 30
# marks: rows in use, then coordinates free to move
FREE = WIDTH
MARKS = 2 * WIDTH
# a model packed in whole numbers: how many features, linear coefficients, coordinates, starts and places on the axes;
# what parts there are; whether starts count that are no valleys; which coefficients may not be negative; the plan of
# its search: how many valleys are followed at most, then how many starts along each axis
FEATURES, LINEAR, NONLINEAR, STARTS, PLACES, PARTS, EVERY, POSITIVE = 0, 1, 2, 3, 4, 5, 6, 7
PLAN, AXES = POSITIVE + WIDTH, POSITIVE + WIDTH + 1
NO_PARTS, SUM, TWO = 0, 1, 2  # what the parts of two coordinates make
# and in real ones: its range of a_w, its box, the grid of its starts, axis after axis
LEAST, GREATEST, LOW, HIGH, GRID = 0, 1, 2, 2 + WIDTH, 2 + 2 * WIDTH
Y, S, G = 0, 1, 2  # rows of `w`: what was measured, the roots of the weights, the features


@inlined
def rows_of(m, p, q, fixed):
    """The first rows of: phi, (offset), weighted y, base, slopes, kept slopes, residual, kept residual, direct, damped.

    After phi stand its derivatives, one row for each (coordinate, function), then the offset and its derivatives.
    """
    phi = G + m
    offset = phi + p + q * p
    wy = offset + fixed * (1 + q)
    base = wy + 1
    jac = base + p
    kept_jac = jac + q
    r = kept_jac + q
    kept_r = r + 1
    direct = kept_r + 1
    damped = direct + q
    return phi, offset, wy, base, jac, kept_jac, r, kept_r, direct, damped


def row_count(m: int, p: int, q: int, fixed: int) -> int:
    """How many rows `w` has."""
    return G + m + p + q * p + fixed * (1 + q) + 1 + p + 2 * q + 2 + 2 * q


@inlined
def padded(n):
    """The columns of a block of n points: whole vectors of eight, the last ones without weight."""
    return (n + 7) // 8 * 8

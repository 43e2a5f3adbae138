"""What is left of the points once a curve is drawn: chance, or a pattern that says the curve has the wrong form."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_Array = NDArray[np.float64]
_CLEAR = 0.01  # probability by chance below which runs are called a pattern
_LAG = 2.6  # lag-1 correlation above this many times 1/sqrt(n) is called a pattern: about 0.5 % by chance
_PARTS = ("at low a_w", "in the middle", "at high a_w")


@dataclass(frozen=True, slots=True)
class Pattern:
    """The residuals of one model in the order of a_w."""

    runs: int  # stretches of one sign
    above: int  # points above the curve
    below: int
    chance: float  # probability of as few runs by chance, exact
    lag: float  # correlation of neighbours
    bend: float  # t of a parabola through the residuals: beyond +-3 they are bowed
    scatter: float  # how far neighbours lie from a straight line through the two beside them, as one standard deviation
    clear: bool
    words: str


def pattern_of(a_w: _Array, residuals: _Array) -> Pattern:
    """The pattern of residuals (measured less fitted) over a_w."""
    order = np.argsort(a_w, kind="stable")
    a, e = a_w[order], residuals[order]
    signs = e[e != 0.0] > 0.0
    above = int(signs.sum())
    below = int(signs.size - above)
    runs = 1 + int(np.count_nonzero(signs[1:] != signs[:-1])) if signs.size else 0
    chance = chance_of_so_few_runs(runs, above, below)
    lag = _lag(e)
    clear = chance < _CLEAR or (e.size >= 6 and lag > _LAG / math.sqrt(e.size))
    return Pattern(
        runs, above, below, chance, lag, _bend(a, e), scatter_of(a, e), clear, _words(e, runs, chance, lag, clear)
    )


def chance_of_so_few_runs(runs: int, above: int, below: int) -> float:
    """The probability of at most this many runs of signs in a random order, exact.

    P(R = 2k) = 2 C(a-1, k-1) C(b-1, k-1)/C(a+b, a)
    P(R = 2k+1) = (C(a-1, k) C(b-1, k-1) + C(a-1, k-1) C(b-1, k))/C(a+b, a) (Wald and Wolfowitz 1940).
    """
    if above == 0 or below == 0:
        return 1.0
    ways = 0
    for count in range(2, runs + 1):
        half = count // 2
        if count % 2 == 0:
            ways += 2 * math.comb(above - 1, half - 1) * math.comb(below - 1, half - 1)
        else:
            ways += math.comb(above - 1, half) * math.comb(below - 1, half - 1)
            ways += math.comb(above - 1, half - 1) * math.comb(below - 1, half)
    return ways / math.comb(above + below, above)


def scatter_of(a: _Array, values: _Array) -> float:
    """The scatter of values about the line through their two neighbours, as the standard deviation of one of them.

    The median of them all is taken, so that one sharp bend does not pass for scatter; nan for fewer than five points.
    """
    if a.size < 5:
        return math.nan
    width = a[2:] - a[:-2]
    share = np.where(width > 0.0, (a[1:-1] - a[:-2]) / np.where(width > 0.0, width, 1.0), 0.5)
    off = values[1:-1] - (1.0 - share) * values[:-2] - share * values[2:]
    return float(np.median(np.abs(off) / np.sqrt(1.0 + share**2 + (1.0 - share) ** 2)) / 0.6745)


def _lag(e: _Array) -> float:
    total = float(e @ e)
    return float(e[1:] @ e[:-1]) / total if total > 0.0 and e.size > 2 else 0.0


def _bend(a: _Array, e: _Array) -> float:
    """Student's t of the square term of a parabola through the residuals."""
    if np.unique(a).size < 5 or not (e != 0.0).any():
        return 0.0
    u = (a - a.mean()) / np.ptp(a)
    matrix = np.column_stack([np.ones_like(u), u, u * u])
    inverse = np.linalg.inv(matrix.T @ matrix)
    found = inverse @ (matrix.T @ e)
    left = e - matrix @ found
    spread = math.sqrt(float(left @ left) / (e.size - 3) * inverse[2, 2])
    return float(found[2]) / spread if spread > 0.0 else 0.0


def _words(e: _Array, runs: int, chance: float, lag: float, clear: bool) -> str:
    if not clear:
        return f"residuals without a pattern: {runs} runs of one sign in {e.size} points"
    sides: list[tuple[str, list[str]]] = []
    for name, part in zip(_PARTS, np.array_split(e, 3), strict=True):
        side = "too low" if part.sum() > 0.0 else "too high"
        if sides and sides[-1][0] == side:
            sides[-1][1].append(name)
        else:
            sides.append((side, [name]))
    where = ", ".join(f"{side} {' and '.join(names)}" for side, names in sides)
    rare = "below 0.1 %" if chance < 0.001 else f"{100.0 * chance:.1f} %"
    why = f"chance of so few {rare}" if chance < _CLEAR else f"neighbours correlate by {lag:.2f}"
    return f"residuals with a pattern: {runs} runs of one sign in {e.size} points ({why}); the curve is {where}"

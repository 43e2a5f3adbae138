"""The shape of measured points, before any model: does moisture rise, and is there a step in it?

Isotherms of food bend down first and up at the end (or do one of both): their slope has its minimum inside. A step has
its slope's maximum inside. Both shapes are fitted as such, without an equation: straight pieces whose slope falls and
then rises, and straight pieces whose slope rises and then falls. Which comes far closer to the points is their shape.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

_Array = NDArray[np.float64]
_KNOTS = 24  # kinks of a shape, at most
_FEWEST = 8  # a step needs points before, in and after it
_MISSED = 0.015  # a share of the range of moisture: what a food's shape may miss the points by
_NO_RISE = 10.0  # percent: as far from every rising curve as a model may be from its points
_LARGE = 0.07  # so much missed is no scatter: the step need not come as much closer
_LARGE_CLOSER = 2.5
_LEG = 4  # points on each way of a turn
_MOSTLY = 0.8


@dataclass(frozen=True, slots=True)
class Shape:
    """What the points look like; `missed` are root mean squares as shares of the range of moisture."""

    kind: str  # "plain", "step", "not rising" or "two branches"
    missed_by_food: float = 0.0
    missed_by_step: float = 0.0
    step_a_w: tuple[float, float] | None = None
    words: str = ""


def shape_of(a_w: _Array, moisture_db: _Array) -> Shape:
    """What the points of one branch at one temperature look like; plain where there are too few to tell."""
    turned = _branches(a_w, moisture_db)
    if turned:
        return Shape("two branches", words=turned)
    a, x = _sorted(a_w, moisture_db)
    span = float(np.ptp(x)) if x.size else 0.0
    if np.unique(a).size < _FEWEST or span <= 0.0:
        return Shape("plain")
    (food, _), (step, curve) = (_closest(a, x, sign) for sign in (1.0, -1.0))
    missed, closer = food / span, food / max(step, 1e-9 * span)
    if missed > _MISSED and closer > (min(_needed(x.size), _LARGE_CLOSER) if missed > _LARGE else _needed(x.size)):
        ends = _where_steep(np.unique(a), curve)
        words = f"the points make a step (S-shaped): moisture jumps between a_w {ends[0]:.2g} and {ends[1]:.2g}"
        return Shape("step", missed, step / span, ends, words)
    rising = _rising(x)
    if relative_percent(x, rising) >= _NO_RISE:
        return Shape("not rising", missed, step / span, None, _fall_words(a, x, relative_percent(x, rising)))
    return Shape("plain", missed, step / span)


def sharpest_bend(a_w: _Array, moisture_db: _Array) -> tuple[float, float, float] | None:
    """Where the points flatten most: a_w, and the slope before and after it; None where they do not."""
    a, x = _sorted(a_w, moisture_db)
    places = np.unique(a)
    if places.size < 5:
        return None
    slopes = np.diff(_closest(a, x, 1.0)[1]) / np.diff(places)
    at = int(np.argmax(slopes[:-1] - slopes[1:]))
    return (float(places[at + 1]), float(slopes[at]), float(slopes[at + 1])) if slopes[at] > slopes[at + 1] else None


def relative_percent(measured: _Array, fitted: _Array) -> float:
    """Mean relative deviation in percent, over the points with moisture: at none there is nothing to relate to."""
    wet = measured > 0.0
    if not wet.any():
        return float("inf")
    return float(100.0 * np.mean(np.abs((measured[wet] - fitted[wet]) / measured[wet])))


def _needed(count: int) -> float:
    """How many times closer the step must come: few noisy points let one shape win by luck.

    With 5 % noise on GAB curves less than 1.5 % of sets of 8 points or more exceed it, and none of 30.
    """
    return float(1.2 + 2.8 * (10.0 / count) ** 1.53)


def _sorted(a_w: _Array, moisture_db: _Array) -> tuple[_Array, _Array]:
    order = np.lexsort((moisture_db, a_w))
    return a_w[order], moisture_db[order]


def _closest(a: _Array, x: _Array, sign: float) -> tuple[float, _Array]:
    """What the best shape misses (root mean square), and that shape: sign 1 bends down, then up; -1 up, then down."""
    places = np.unique(a)
    u, v = (a - places[0]) / np.ptp(places), (places - places[0]) / np.ptp(places)
    knots, scale = _knots(v), float(np.abs(x).max())
    best, curve = np.inf, np.zeros_like(v)
    for turn in range(knots.size):
        found, missed = nnls(_straight_pieces(u, knots, turn), sign * x / scale)
        if missed < best:
            best, curve = float(missed), sign * scale * (_straight_pieces(v, knots, turn) @ found)
    return best * scale / float(np.sqrt(x.size)), curve


def _straight_pieces(u: _Array, knots: _Array, turn: int) -> _Array:
    before, after = np.maximum(knots[None, :] - u[:, None], 0.0), np.maximum(u[:, None] - knots[None, :], 0.0)
    free = np.column_stack([np.ones_like(u), -np.ones_like(u), u, -u])
    return np.column_stack([free, -before[:, : turn + 1], after[:, turn:]])


def _knots(places: _Array) -> _Array:
    """Where a shape may have a kink: at the points, thinned evenly where there are many."""
    inside = places[1:-1]
    if inside.size <= _KNOTS:
        return inside
    thinned: _Array = inside[np.unique(np.linspace(0, inside.size - 1, _KNOTS).round().astype(int))]
    return thinned


def _rising(x: _Array) -> _Array:
    """The closest rising sequence: neighbours that fall are pooled to their mean."""
    blocks: list[tuple[float, int]] = []
    for value in x.tolist():
        mean, count = value, 1
        while blocks and blocks[-1][0] >= mean:
            before, size = blocks.pop()
            mean, count = (before * size + mean * count) / (size + count), size + count
        blocks.append((mean, count))
    return np.repeat([mean for mean, _ in blocks], [count for _, count in blocks])


def _where_steep(places: _Array, curve: _Array) -> tuple[float, float]:
    """The narrowest stretch of a_w that takes half of the whole rise."""
    rise = curve[None, :] - curve[:, None]
    width = np.where(rise >= 0.5 * (curve.max() - curve.min()), places[None, :] - places[:, None], np.inf)
    first, last = np.unravel_index(int(np.argmin(np.where(width > 0.0, width, np.inf))), width.shape)
    return float(places[first]), float(places[last])


def _branches(a_w: _Array, moisture_db: _Array) -> str:
    """Said where the points, in their order, go up in a_w and come back on another way."""
    top = int(np.argmax(a_w)) if a_w.size else 0
    up, down = np.arange(top + 1), np.arange(top, a_w.size)
    if min(up.size, down.size) <= _LEG or _share_upward(a_w[up]) < _MOSTLY or _share_upward(-a_w[down]) < _MOSTLY:
        return ""
    back = down[np.argsort(a_w[down])]
    shared = up[(a_w[up] >= a_w[back[0]]) & (up < top)]
    gaps = np.interp(a_w[shared], a_w[back], moisture_db[back]) - moisture_db[shared]
    if gaps.size < _LEG or np.mean(gaps > 0.0) < _MOSTLY or gaps.mean() < 0.03 * np.ptp(moisture_db):
        return ""
    at = int(np.argmax(gaps))
    return (
        f"the points go up in a_w and come back on another way, {gaps[at]:.3g} kg/kg apart at a_w"
        f" {a_w[shared][at]:.2f}: give each its direction, adsorption or desorption, and fit one"
    )


def _share_upward(values: _Array) -> float:
    return float(np.mean(np.diff(values) > 0.0))


def _fall_words(a: _Array, x: _Array, rising_percent: float) -> str:
    top = np.maximum.accumulate(x)
    low = int(np.argmax(top - x))
    high = int(np.argmax(x[: low + 1]))
    return (
        f"moisture falls from {x[high]:.4g} at a_w {a[high]:.2f} to {x[low]:.4g} at a_w {a[low]:.2f}: no rising curve"
        f" comes closer to the points than {rising_percent:.0f} % on average"
    )

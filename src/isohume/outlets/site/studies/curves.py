"""A curve that was saved on a fine grid, read between its points and backwards: monotone cubics, never beyond it.

The worker saves the fitted curve and its bands; a page reads them and calculates nothing anew, so that what a page
says today is what was saved, whatever version of isohume shows it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

HALVINGS = 60


class Curve:
    """y over rising x; between the points a cubic with the slopes given, else one that overshoots nowhere."""

    def __init__(self, x: Sequence[float], y: Sequence[float], slopes: Sequence[float] = ()) -> None:
        self.x, self.y = list(x), list(y)
        self._slopes = list(slopes) or _slopes(self.x, self.y)

    @property
    def ends(self) -> tuple[float, float]:
        """Where it begins and ends."""
        return self.x[0], self.x[-1]

    def at(self, x: float) -> float:
        """The value at a place inside the ends."""
        i = min(max(bisect_right(self.x, x) - 1, 0), len(self.x) - 2)
        wide = self.x[i + 1] - self.x[i]
        t = (x - self.x[i]) / wide
        left, right = self._slopes[i] * wide, self._slopes[i + 1] * wide
        rise = self.y[i + 1] - self.y[i]
        return self.y[i] + t * (left + t * (3 * rise - 2 * left - right + t * (left + right - 2 * rise)))

    def where(self, y: float) -> float | None:
        """The place at which a rising curve reaches a value; None where it does not."""
        if not self.y[0] <= y <= self.y[-1]:
            return None
        low, high = self.ends
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if self.at(middle) < y else (low, middle)
        return (low + high) / 2


def _slopes(x: list[float], y: list[float]) -> list[float]:
    """Slopes after Fritsch and Carlson, in the weighted harmonic mean of Fritsch and Butland."""
    steps = [b - a for a, b in pairwise(x)]
    rises = [(d - c) / h for (c, d), h in zip(pairwise(y), steps, strict=True)]
    inner = [_between(*two, *rise) for two, rise in zip(pairwise(steps), pairwise(rises), strict=True)]
    return [rises[0], *inner, rises[-1]]


def _between(h1: float, h2: float, d1: float, d2: float) -> float:
    if d1 * d2 <= 0:
        return 0.0
    w1, w2 = 2 * h2 + h1, h2 + 2 * h1
    return (w1 + w2) / (w1 / d1 + w2 / d2)

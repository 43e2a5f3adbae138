"""How many points a chart takes on average until it signals: exact, without simulation.

Individuals by the Markov chain of their run rules, the weighted moving average and the cumulative sums by their
integral equations. Independent normal values, centre and sigma known.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from isohume.foundation.metrology.charts_by_point import ChartRules
from isohume.foundation.metrology.normal import normal_cdf
from isohume.foundation.metrology.run_rules import RULES
from isohume.foundation.quantity.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import NDArray

NODES = 60
SETTLED = 1e-13
"""Limits of a weighted moving average this near their end are taken as settled."""
_EDGES = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)


def average_run_length(rules: ChartRules | None = None, shift: float = 0.0, settled_limits: bool = False) -> float:
    """The average number of points until a chart signals, when the mean has moved since the first point.

        L(u) = 1 + integral of L(x) p(x | u) dx over the states that do not signal; individuals: (I - P) L = 1
    rules: what the chart goes by [1]; None takes individuals with every rule but the trend.
    shift: distance of the mean from the centre in units of sigma [1].
    settled_limits: a weighted moving average with the limits it has after many points from the start on [1].
    Returns: the average run length [1].
    Raises: InputError for a shift that is not finite, no rule, or "6 trending" (known by simulation only).
    Example: 3 sigma limits alone: 370.4; with the other three zone rules 91.75.
    Source: ChampWoodall1987, table 1; LucasSaccucci1990; LucasCrosier1982; BrookEvans1972.
    """
    zones = tuple(name for name in RULES if name != "6 trending")
    chosen = rules or ChartRules(rules=zones)
    if not math.isfinite(shift):
        raise InputError("shift", shift, "a finite number of sigma")
    if chosen.kind == "cusum":
        return _cusum(chosen.k, chosen.h, shift)
    if chosen.kind == "ewma":
        return _ewma(chosen.weight, chosen.width, shift, settled_limits)
    if "6 trending" in chosen.rules or not chosen.rules:
        raise InputError("rules", ", ".join(chosen.rules), f"one or more of {', '.join(zones)}")
    return _individuals(tuple(name for name in RULES if name in chosen.rules), shift)


@dataclass(frozen=True, slots=True)
class _Memory:
    """What the rules remember of past points: which of the last lay beyond 2 and 1 sigma, and the run on one side."""

    two: tuple[int, ...] = (0, 0)
    one: tuple[int, ...] = (0, 0, 0, 0)
    run: int = 0

    def after(self, zone: int, rules: tuple[str, ...]) -> _Memory | None:
        """The memory after a point in a zone (-4 to -1 below, 1 to 4 above the centre); None where a rule speaks."""
        side = 1 if zone > 0 else -1
        size = abs(zone)
        two: tuple[int, ...] = ()
        one: tuple[int, ...] = ()
        run = 0
        if "beyond 3 sigma" in rules and size == 4:
            return None
        if "2 of 3 beyond 2 sigma" in rules:
            now = side if size >= 3 else 0
            if now and self.two.count(now) >= 1:
                return None
            two = (*self.two[1:], now)
        if "4 of 5 beyond 1 sigma" in rules:
            now = side if size >= 2 else 0
            if now and self.one.count(now) >= 3:
                return None
            one = (*self.one[1:], now)
        if "8 on one side" in rules:
            run = self.run + side if self.run * side >= 0 else side
            if abs(run) >= 8:
                return None
        return _Memory(two, one, run)


def _individuals(rules: tuple[str, ...], shift: float) -> float:
    import numpy as np

    index, moves = _chain(rules)
    cuts = [float(normal_cdf(edge - shift)) for edge in _EDGES]
    chances = [b - a for a, b in zip([0.0, *cuts], [*cuts, 1.0], strict=True)]
    matrix = np.eye(index)
    for start, zone, end in moves:
        matrix[start, end] -= chances[zone]
    return float(np.linalg.solve(matrix, np.ones(index))[0])


@lru_cache(maxsize=16)
def _chain(rules: tuple[str, ...]) -> tuple[int, tuple[tuple[int, int, int], ...]]:
    """The number of memories that can occur, and every move between them: from, zone (0 the lowest), to."""
    known = {_Memory(): 0}
    waiting = deque(known)
    moves = []
    while waiting:
        memory = waiting.popleft()
        for place, zone in enumerate((-4, -3, -2, -1, 1, 2, 3, 4)):
            then = memory.after(zone, rules)
            if then is None:
                continue
            if then not in known:
                known[then] = len(known)
                waiting.append(then)
            moves.append((known[memory], place, known[then]))
    return len(known), tuple(moves)


def _nodes(low: float, high: float) -> tuple[NDArray[Any], NDArray[Any]]:
    from numpy.polynomial.legendre import leggauss

    x, w = leggauss(NODES)
    half = 0.5 * (high - low)
    return low + half * (x + 1.0), half * w


def _density(z: NDArray[Any]) -> NDArray[Any]:
    import numpy as np

    return np.asarray(np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi))


def _ewma(weight: float, width: float, shift: float, settled: bool) -> float:
    """From the settled limits backwards to the first point, whose limits are the narrowest."""
    import numpy as np

    widest = width * math.sqrt(weight / (2.0 - weight))
    x, w = _nodes(-widest, widest)
    kernel = _density((x[None, :] - (1.0 - weight) * x[:, None]) / weight - shift) * w / weight
    lengths = np.linalg.solve(np.eye(NODES) - kernel, np.ones(NODES))
    if not settled:
        for half in _half_widths(weight, widest):
            at, share = _nodes(-half, half)
            kernel = _density((x[None, :] - (1.0 - weight) * at[:, None]) / weight - shift) * w / weight
            lengths, x, w = 1.0 + kernel @ lengths, at, share
    start = _density(x / weight - shift) * w / weight
    return float(1.0 + start @ lengths)


def _half_widths(weight: float, widest: float) -> Iterator[float]:
    """Half the distance of the limits from the last point at which they still widen back to the first."""
    left = (1.0 - weight) ** 2
    steps = 0 if left == 0.0 else math.ceil(math.log(SETTLED) / math.log(left))
    for step in range(steps, 0, -1):
        yield widest * math.sqrt(1.0 - left**step)


def _cusum(k: float, h: float, shift: float) -> float:
    """Both sums together: the rates of their signals add up."""
    return 1.0 / (1.0 / _one_sum(k, h, shift) + 1.0 / _one_sum(k, h, -shift))


def _one_sum(k: float, h: float, shift: float) -> float:
    import numpy as np

    x, w = _nodes(0.0, h)
    at = np.concatenate(([0.0], x))
    matrix = np.zeros((NODES + 1, NODES + 1))
    matrix[:, 0] = [float(normal_cdf(k - shift - u)) for u in at]
    matrix[:, 1:] = _density(x[None, :] + k - shift - at[:, None]) * w
    return float(np.linalg.solve(np.eye(NODES + 1) - matrix, np.ones(NODES + 1))[0])

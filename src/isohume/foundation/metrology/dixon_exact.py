"""The exact distribution of Dixon's ratios for normal values, by quadrature.

The printed tables end at some n and alpha and were worked out by hand; this says what they should hold, and how
likely a ratio is where no table speaks.
"""

from __future__ import annotations

import math
import re
from functools import cache

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.metrology.normal import normal_cdf
from isohume.foundation.quantity.errors import InputError, RangeError

_RATIO = re.compile(r"r([12])([012])")
_NODES = 64
_EDGE = 8.0  # normal values beyond have no weight that a printed digit could show


def dixon_exceedance(statistic: float, n: int, ratio: str = "r10") -> float:
    """The probability that Dixon's ratio of n normal values, for an end fixed before looking, is larger.

        P = C int int phi(a) phi(b) Phi(a)^k (Phi(b) - Phi(a))^m T(c) da db, a < b, c = (b - R a)/(1 - R);
        T(c) = (1 - Phi(b))^j - (Phi(c) - Phi(b))^j, m = n - 1 - j - k - 1, C = n!/(k! m! j!)
    statistic: the ratio R [1], 0 up to 1, 1 excluded.
    n: number of values [1], enough for the ratio and at most 30.
    ratio: "r10", "r11", "r21" or "r22", r_jk with j - 1 neighbours and k far values left out [text].
    Returns: probability [1], good to 1e-6, one end; both ends together come close to twice as much.
    Raises: InputError for an unknown ratio; RangeError for n or the statistic out of range.
    Example: f(0.941, 3) = 0.05 (printed table).
    Source: Dixon1951; integral of the joint density of order statistics.
    """
    name = _RATIO.fullmatch(ratio)
    if name is None:
        raise InputError("ratio", ratio, "r10, r11, r21 or r22")
    top, far = int(name[1]), int(name[2])
    between = n - top - far - 2
    if between < 0 or n > 30:
        raise RangeError("n", n, top + far + 2, 30, why=f"values for {ratio}")
    if not 0.0 <= statistic < 1.0:
        raise RangeError("statistic", statistic, 0.0, 1.0, why="1 excluded")
    nodes, weights = _rule()
    a = _EDGE * nodes[:, None]
    # b from a upwards: the square bends the nodes towards a, where the spacing of few values counts
    share = 0.5 * (nodes + 1.0)
    b = a + (_EDGE - a) * share**2
    area = (_EDGE * weights[:, None]) * ((_EDGE - a) * share * weights)
    c = (b - statistic * a) / (1.0 - statistic)
    below_a, below_b, below_c = normal_cdf(a), normal_cdf(b), normal_cdf(c)
    density = np.exp(-0.5 * (a * a + b * b)) / (2.0 * np.pi)
    above = (1.0 - below_b) ** top - (below_c - below_b) ** top
    inside = density * below_a**far * (below_b - below_a) ** between * above
    ways = math.factorial(n) / (math.factorial(far) * math.factorial(between) * math.factorial(top))
    return float(ways * np.sum(area * inside))


@cache
def _rule() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return nodes, weights


def dixon_critical_exact(n: int, alpha: float, ratio: str = "r10") -> float:
    """The ratio that n normal values exceed at an end fixed before looking with probability alpha.

        dixon_exceedance(R, n, ratio) = alpha, by halving
    n: number of values [1], enough for the ratio and at most 30.
    alpha: probability [1], above 0 and below 0.5; half the level where either end is looked at.
    ratio: "r10", "r11", "r21" or "r22" [text].
    Returns: critical ratio R [1].
    Raises: InputError or RangeError as dixon_exceedance does, or for alpha out of range.
    Example: f(5, 0.05) = 0.642 (printed table).
    Source: Dixon1951.
    """
    if not 0.0 < alpha < 0.5:
        raise RangeError("alpha", alpha, 0.0, 0.5, why="both ends excluded")
    low, high = 0.0, 1.0 - 1e-9
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if dixon_exceedance(middle, n, ratio) > alpha else (low, middle)
    return 0.5 * (low + high)

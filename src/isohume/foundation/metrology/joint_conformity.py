"""The probability that several measured quantities conform all at once, where part of their error is common to all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from isohume.foundation.metrology.conformity import probability_of_conformity
from isohume.foundation.metrology.normal import normal_cdf
from isohume.foundation.quantity.errors import InputError

_REACH = 8.5  # beyond it a normal variable carries less than a float can hold beside 1
_STEP = 0.5  # of the common part, smooth over one of its own u
_KINKS = (-_REACH, -4.0, -2.0, 0.0, 2.0, 4.0, _REACH)  # where a limit is crossed, in u of the own part
_NODES = 16


def probability_all_conform(
    values: Sequence[float],
    u_own: Sequence[float],
    u_common: float,
    lower: float | None = None,
    upper: float | None = None,
) -> float:
    """The probability that every one of several quantities lies within the limits.

        p = integral phi(z) prod over i of [Phi((U - y_i - u_c z)/u_i) - Phi((L - y_i - u_c z)/u_i)] dz
    values: the measured values y_i [same unit as the limits], at least one.
    u_own: the part of each one's uncertainty that is its own [same unit], such as s_r/sqrt(n); zero or more.
    u_common: the part that shifts them all alike [same unit], such as the instrument's; zero or more.
    lower: lower limit [same unit], None where there is none.
    upper: upper limit [same unit], None where there is none.
    Returns: probability [1]; never above that of the worst one alone, never below the product of all.
    Raises: InputError where lengths differ, an uncertainty is negative, or a value has none at all.
    Example: k values at the limit, own and common part alike: 1/(k + 1).
    Source: JCGM106, 7; Gupta1963, one common factor.
    """
    _need(values, u_own, u_common)
    singly = [
        float(probability_of_conformity(y, math.hypot(u, u_common), lower, upper))
        for y, u in zip(values, u_own, strict=True)
    ]
    if u_common == 0.0:
        return math.prod(singly)
    import numpy as np

    places = [_Place(y, u, u_common, lower, upper) for y, u in zip(values, u_own, strict=True)]
    low, high = max(-_REACH, *(p.low for p in places)), min(_REACH, *(p.high for p in places))
    if low >= high:
        return 0.0
    kinks = [z for place in places for z in place.kinks]
    grid = np.arange(-_REACH, _REACH + _STEP, _STEP)
    edges = np.unique(np.clip(np.concatenate([grid, kinks, [low, high]]), low, high))
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    half = 0.5 * np.diff(edges)[:, None]
    z = (edges[:-1, None] + half) + half * nodes
    product = half * weights * np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    for place in places:
        product = product * place.within(z)
    return min(*singly, 1.0, float(product.sum()))


@dataclass(frozen=True, slots=True)
class _Place:
    """One quantity in units of the common part: where it crosses its limits, and how sharply."""

    value: float
    u: float
    u_common: float
    lower: float | None
    upper: float | None

    def _at(self, limit: float | None, nowhere: float) -> float:
        return nowhere if limit is None else (limit - self.value) / self.u_common

    @property
    def low(self) -> float:
        """Below it the quantity is out for certain; a bound only where its own part is nothing."""
        return self._at(self.lower, -math.inf) if self.u == 0.0 else -math.inf

    @property
    def high(self) -> float:
        """Above it the quantity is out for certain."""
        return self._at(self.upper, math.inf) if self.u == 0.0 else math.inf

    @property
    def kinks(self) -> list[float]:
        """Where the integral is split: a sharp edge between two nodes would be missed by both."""
        width = self.u / self.u_common
        limits = [self._at(limit, 0.0) for limit in (self.lower, self.upper) if limit is not None]
        return [] if not 0.0 < width < 1.0 else [limit + width * kink for limit in limits for kink in _KINKS]

    def within(self, z: Any) -> Any:
        """The probability that it lies within its limits, the common part being z of its u."""
        if self.u == 0.0:
            return 1.0  # the bounds of the integral say it
        moved = self.value + self.u_common * z
        below = None if self.lower is None else (self.lower - moved) / self.u
        above = None if self.upper is None else (self.upper - moved) / self.u
        if below is None:
            return normal_cdf(above)
        if above is None:
            return normal_cdf(-below)
        return _between(below, above)


def _between(below: Any, above: Any) -> Any:
    """The difference of two tails, taken on the side where they are small."""
    import numpy as np

    far = below > 0.0
    return normal_cdf(np.where(far, -below, above)) - normal_cdf(np.where(far, -above, below))


def _need(values: Sequence[float], u_own: Sequence[float], u_common: float) -> None:
    if not values or len(values) != len(u_own):
        raise InputError("u_own", f"{len(u_own)} for {len(values)} values", "one a value, at least one")
    if not 0.0 <= u_common < math.inf:
        raise InputError("u_common", u_common, "a finite uncertainty of zero or more")
    for u in u_own:
        if not 0.0 <= u < math.inf or (u == 0.0 and u_common == 0.0):
            raise InputError("u_own", u, "a finite uncertainty of zero or more, above zero where nothing is common")

"""The arithmetic of the bottle ledger: scatter of single readings and of whole checks, and slopes that stand in both.

A reading is its bottle's and instrument's own baseline, what moved, what its whole check shares, and its own scatter:

    deviation = baseline(bottle, instrument) + movement + check + scatter

Scatter and check are taken from successive differences, as a moving range is, so that what moves slowly does not
hide itself behind a larger scatter.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_FEW = 8
"""With fewer pairs of checks a median says too little to call one of them a step (no source)."""
_STEP = 5.0
"""A step: beyond five robust standard deviations, which normal scatter reaches once in a million (no source)."""
_OF_MEDIAN = 1.4826  # a normal standard deviation in units of the median absolute deviation
_NO_DIRECTION = 1e-9  # a column that keeps less than this of its square is a sum of others but for rounding


@dataclass(frozen=True, slots=True)
class Scatter:
    """How one instrument's readings of reference solutions scatter: single ones, and whole checks together."""

    s_reading: float
    s_check: float
    dof: float


def scatter_of(differences: Sequence[Sequence[float]], checks: int) -> Scatter | None:
    """The scatter of single readings and of whole checks from successive differences.

        s^2 = sum within a check of (D - mean D)^2 / (2 nu);  s_check^2 = mean(mean(D)^2)/2 - s^2 mean(1/n)
    differences: for each pair of successive checks, the difference of each bottle read in both [1].
    checks: how many checks the differences come from [1].
    Returns: the Scatter, None where there is no difference; s_check 0 where checks have one bottle each. A pair of
        checks between which something stepped (a smeared rim, a cleaning) is an event and no scatter: left out.
    Source: NISTHandbook, 6.3.2.2 (the moving range, here as mean square); dof of overlapping differences computed.
    """
    groups = _without_steps([np.asarray(group, dtype=float) for group in differences if len(group)])
    if not groups:
        return None
    # N values give N - 1 overlapping differences worth 2 (N - 1)^2/(3 N - 4) degrees of freedom (normal scatter)
    worth = 2.0 * max(checks - 1, 1) / max(3.0 * checks - 4.0, 2.0)
    within = math.fsum(float(((g - g.mean()) ** 2).sum()) for g in groups)
    nu = sum(len(g) - 1 for g in groups)
    if nu == 0:
        square = math.fsum(float((g**2).sum()) for g in groups) / (2.0 * len(groups))
        return Scatter(math.sqrt(square), 0.0, max(worth * len(groups), 1.0))
    square = within / (2.0 * nu)
    means = math.fsum(float(g.mean()) ** 2 for g in groups) / len(groups)
    share = math.fsum(1.0 / len(g) for g in groups) / len(groups)
    return Scatter(math.sqrt(square), math.sqrt(max(0.0, 0.5 * means - square * share)), max(worth * nu, 1.0))


def _without_steps(groups: list[Floats]) -> list[Floats]:
    """The differences without those beyond five robust standard deviations; all of them where there are few."""
    if len(groups) < _FEW:
        return groups
    spread = [float(np.abs(g - g.mean()).max()) * math.sqrt(len(g) / (len(g) - 1)) for g in groups if len(g) > 1]
    means = [abs(float(g.mean())) for g in groups]
    most = [_STEP * _OF_MEDIAN * float(np.median(part)) if part else math.inf for part in (spread, means)]
    return [
        g
        for g in groups
        if abs(float(g.mean())) <= (most[1] or math.inf)
        and (len(g) < 2 or float(np.abs(g - g.mean()).max()) <= (most[0] or math.inf))
    ]


@dataclass(frozen=True, slots=True)
class Whitening:
    """Takes readings to independent ones of unit variance, check by check."""

    group: Ints
    size: Floats
    theta: Floats
    scale: Floats
    order: tuple[Ints, Ints]

    def __call__(self, columns: Floats) -> Floats:
        """The columns, a row a reading, with what a check shares taken down and the scatter divided out."""
        table = columns.reshape(len(self.group), -1)
        in_order, starts = self.order
        means = np.add.reduceat(table[in_order], starts, axis=0) / self.size[:, None]
        return (table - (self.theta[:, None] * means)[self.group]) / self.scale[self.group][:, None]


def whitening(checks: Sequence[str], s_reading: Sequence[float], s_check: Sequence[float]) -> Whitening:
    """The whitening of readings that share a check.

        V = s_reading^2 (1 + rho J), rho = s_check^2/s_reading^2, for each check
    checks: the check of each reading [text].
    s_reading: the scatter of each reading [1], equal within a check, greater than zero.
    s_check: what its whole check scatters by [1].
    Returns: the Whitening.
    Source: JCGM100, H.5 (between and within); the square root of V computed.
    """
    _, group = np.unique(np.asarray(checks), return_inverse=True)
    size = np.bincount(group).astype(float)
    scale = np.zeros(len(size))
    rho = np.zeros(len(size))
    single, whole = np.asarray(s_reading, dtype=float), np.asarray(s_check, dtype=float)
    scale[group], rho[group] = single, (whole / single) ** 2
    theta = 1.0 - 1.0 / np.sqrt(1.0 + size * rho)
    starts = np.concatenate([[0], np.cumsum(size)[:-1]]).astype(np.int64)
    order = np.argsort(group, kind="stable").astype(np.int64), starts
    return Whitening(group.astype(np.int64), size, theta, scale, order)


@dataclass(frozen=True, slots=True)
class Slope:
    """A slope in whitened readings: its value, its standard uncertainty and the chi-squared it explains."""

    value: float
    u: float
    gain: float


class Residuals:
    """What is left of readings once baselines and the movements found so far are taken out."""

    def __init__(self, y: Floats, known: Floats) -> None:
        """y: whitened readings. known: whitened columns of what is taken out."""
        left, sizes, _ = np.linalg.svd(known, full_matrices=False)
        self._basis = left[:, sizes > _NO_DIRECTION * sizes[0]]
        self._y = self._left(y.reshape(-1, 1))[:, 0]

    def _left(self, columns: Floats) -> Floats:
        return np.asarray(columns - self._basis @ (self._basis.T @ columns))

    def slopes(self, columns: Floats) -> list[Slope | None]:
        """The slope along each whitened column by itself; None where the column is spoken for already."""
        whole = (columns**2).sum(axis=0)
        left = self._left(columns)
        squares = (left**2).sum(axis=0)
        along = left.T @ self._y
        return [
            None if square <= _NO_DIRECTION * all_of_it or square == 0 else _slope(float(inner), float(square))
            for inner, square, all_of_it in zip(along, squares, whole, strict=True)
        ]


def _slope(inner: float, square: float) -> Slope:
    return Slope(inner / square, 1.0 / math.sqrt(square), inner * inner / square)


def successive(rows: Sequence[tuple[str, str, float, float]]) -> tuple[list[list[float]], int]:
    """Differences between each bottle's successive readings on one instrument, those of the same two checks together.

    rows: bottle [text], check [text], day [d] and deviation [1] of one instrument's readings.
    Returns: the differences by pair of checks [1], and the number of checks [1].
    Source: none.
    """
    series: dict[str, dict[str, list[tuple[float, float]]]] = defaultdict(lambda: defaultdict(list))
    for bottle, check, day, deviation in rows:
        series[bottle][check].append((day, deviation))
    found: dict[tuple[str, str], list[float]] = defaultdict(list)
    for checks in series.values():
        # a bottle read twice in a check: its mean would scatter less than a reading, so the first one stands for it
        ordered = sorted((min(pairs), check) for check, pairs in checks.items())
        for ((_, before), first), ((_, after), second) in pairwise(ordered):
            found[first, second].append(after - before)
    return list(found.values()), len({check for _, check, _, _ in rows})

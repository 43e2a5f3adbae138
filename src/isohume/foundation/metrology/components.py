"""Variance components of nested data with unequal numbers: repeatability, between groups, reproducibility.

Method of moments: the mean squares of the nested analysis of variance are set equal to what they are expected
to be, with the coefficients that unequal numbers give them.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError


@dataclass(frozen=True, slots=True)
class Level:
    """One level of nesting.

    `coefficients` are those of the expected mean square, one for this level and each below it, in order (the
    residual's, 1, left out). `raw` may be negative; `variance` is then 0, as the standard reports it.
    """

    name: str
    groups: int
    dof: int
    sum_of_squares: float
    mean_square: float
    coefficients: tuple[float, ...]
    raw: float

    @property
    def variance(self) -> float:
        """The variance component, never below zero."""
        return max(0.0, self.raw)


@dataclass(frozen=True, slots=True)
class VarianceComponents:
    """The components of nested data, outermost level first, and what follows from them."""

    levels: tuple[Level, ...]
    residual_dof: int
    residual_mean_square: float
    grand_mean: float
    n: int
    mean_weights: tuple[float, ...]
    s_of_all: float

    @property
    def s_r(self) -> float:
        """The repeatability standard deviation."""
        return math.sqrt(self.residual_mean_square)

    @property
    def s_reproducibility(self) -> float:
        """s_R: the root of the sum of all components and the repeatability variance."""
        return math.sqrt(self.residual_mean_square + math.fsum(level.variance for level in self.levels))

    @property
    def repeatability_limit(self) -> float:
        """r = 2.8 s_r."""
        return 2.8 * self.s_r

    @property
    def reproducibility_limit(self) -> float:
        """R = 2.8 s_R."""
        return 2.8 * self.s_reproducibility

    @property
    def u_mean(self) -> float:
        """The standard uncertainty of the grand mean from every component."""
        parts = [w * lv.variance for w, lv in zip(self.mean_weights, self.levels, strict=True)]
        return math.sqrt(math.fsum(parts) + self.residual_mean_square / self.n)

    @property
    def u_mean_pooled(self) -> float:
        """The same with all values pooled, for data in which no level shows."""
        return self.s_of_all / math.sqrt(self.n)

    def f_ratio(self, level: int = 0) -> float:
        """F: the mean square of a level over that of the level below (an exact test for equal numbers)."""
        squares = [one.mean_square for one in self.levels] + [self.residual_mean_square]
        return squares[level] / squares[level + 1]

    def f_critical(self, probability: float, level: int = 0) -> float:
        """The F that a level without effect stays below with the given probability."""
        from scipy.special import fdtri

        dofs = [one.dof for one in self.levels] + [self.residual_dof]
        return float(fdtri(dofs[level], dofs[level + 1], probability))


def nested_components(
    values: Sequence[float], labels: Sequence[Sequence[Hashable]], names: Sequence[str]
) -> VarianceComponents:
    """Variance components of nested values with any number of levels and unequal numbers.

        E[MS_q] = s_e^2 + sum_r k_qr s_r^2;
        k_qr nu_q = sum over groups h of level r of n_h^2 (1/n_g(q) - 1/n_g(q-1))
    values: the values [any unit].
    labels: for each value its group at every level [text], outermost first, such as ("lab 1", "portion 2").
    names: the names of the levels [text], outermost first.
    Returns: the VarianceComponents [unit of the values].
    Raises: InputError where lengths differ, a value is not finite or a level cannot be told from the next.
    Example: ten days of five readings (source): s_a 128, s_b 85, between days 43 uV.
    Source: ISO5725-2, 7.4; Searle1992, nested classification with unequal numbers.
    """
    _need(values, labels, names)
    paths = [tuple(path) for path in labels]
    depth = len(names)
    tree = [_grouped(values, paths, level) for level in range(depth + 1)]
    sums, dofs = [], []
    for level in range(1, depth + 1):
        above, here = tree[level - 1], tree[level]
        sums.append(math.fsum(n * (m - above[g[:-1]][1]) ** 2 for g, (n, m) in here.items()))
        dofs.append(len(here) - len(above))
    finest = tree[depth]
    sums.append(math.fsum((x - finest[path][1]) ** 2 for x, path in zip(values, paths, strict=True)))
    dofs.append(len(values) - len(finest))
    counts = [{g: n for g, (n, _) in one.items()} for one in tree]
    return _solved(names, counts, sums, dofs, tree[0][()][1])


def components_from_summaries(
    means: Sequence[float], standard_deviations: Sequence[float], numbers: Sequence[int], name: str = "group"
) -> VarianceComponents:
    """Variance components of one level from each group's mean, standard deviation and number.

        as nested_components, with s_e^2 = sum((n - 1) s^2)/sum(n - 1)
    means: the groups' means [any unit], at least two.
    standard_deviations: the groups' standard deviations [same unit], zero or more.
    numbers: how many values each group has [1], 1 or more.
    name: the level's name [text].
    Returns: the VarianceComponents [same unit].
    Raises: InputError where lengths differ or the level cannot be told from the repeatability.
    Example: ten day means of five readings (source): s_a 128, s_b 85, between days 43 uV.
    Source: ISO5725-2, 7.4; JCGM100, H.5.
    """
    if not len(means) == len(standard_deviations) == len(numbers):
        raise InputError("means", f"{len(means)} groups", "as many standard deviations and numbers")
    if not all(math.isfinite(one) for one in (*means, *standard_deviations)):
        raise InputError("means", "a value that is not finite", "finite numbers")
    if any(n < 1 for n in numbers) or any(s < 0.0 for s in standard_deviations):
        raise InputError("numbers", "an empty group or a negative s", "n of 1 or more, s of 0 or more")
    total = sum(numbers)
    grand = math.fsum(n * m for n, m in zip(numbers, means, strict=True)) / max(total, 1)
    between = math.fsum(n * (m - grand) ** 2 for n, m in zip(numbers, means, strict=True))
    within = math.fsum((n - 1) * s * s for n, s in zip(numbers, standard_deviations, strict=True))
    groups: dict[tuple[Hashable, ...], int] = {(i,): n for i, n in enumerate(numbers)}
    dofs = [len(means) - 1, total - len(means)]
    return _solved([name], [{(): total}, groups], [between, within], dofs, grand)


def _grouped(
    values: Sequence[float], paths: Sequence[tuple[Hashable, ...]], level: int
) -> dict[tuple[Hashable, ...], tuple[int, float]]:
    """Number and mean of every group at a level; level 0 is the whole."""
    members: dict[tuple[Hashable, ...], list[float]] = {}
    for x, path in zip(values, paths, strict=True):
        members.setdefault(path[:level], []).append(x)
    return {group: (len(xs), math.fsum(xs) / len(xs)) for group, xs in members.items()}


def _solved(
    names: Sequence[str],
    counts: Sequence[Mapping[tuple[Hashable, ...], int]],
    sums: Sequence[float],
    dofs: Sequence[int],
    grand_mean: float,
) -> VarianceComponents:
    """Mean squares set equal to their expectations, from the innermost level outwards."""
    _need_dof(names, dofs)
    depth, n = len(names), counts[0][()]
    residual = sums[-1] / dofs[-1]
    levels: list[Level] = []
    for q in range(depth, 0, -1):
        row = tuple(_coefficient(counts, q, r) / dofs[q - 1] for r in range(q, depth + 1))
        mean_square = sums[q - 1] / dofs[q - 1]
        below = math.fsum(k * level.raw for k, level in zip(row[1:], levels, strict=True))
        raw = (mean_square - residual - below) / row[0]
        levels.insert(0, Level(names[q - 1], len(counts[q]), dofs[q - 1], sums[q - 1], mean_square, row, raw))
    return VarianceComponents(
        levels=tuple(levels),
        residual_dof=dofs[-1],
        residual_mean_square=residual,
        grand_mean=grand_mean,
        n=n,
        mean_weights=tuple(sum(k * k for k in counts[r].values()) / n**2 for r in range(1, depth + 1)),
        s_of_all=math.sqrt(math.fsum(sums) / (n - 1)),
    )


def _coefficient(counts: Sequence[Mapping[tuple[Hashable, ...], int]], q: int, r: int) -> float:
    return math.fsum(
        k * k * (1.0 / counts[q][group[:q]] - 1.0 / counts[q - 1][group[: q - 1]]) for group, k in counts[r].items()
    )


def _need(values: Sequence[float], labels: Sequence[Sequence[Hashable]], names: Sequence[str]) -> None:
    if not names:
        raise InputError("names", "none", "at least one level")
    if len(labels) != len(values):
        raise InputError("labels", f"{len(labels)} labels", f"{len(values)}, one a value")
    for row, (x, path) in enumerate(zip(values, labels, strict=True), start=1):
        if not math.isfinite(x):
            raise InputError("values", x, "finite numbers", row=row)
        if len(path) != len(names):
            raise InputError("labels", str(tuple(path)), f"one group for each of {', '.join(names)}", row=row)


def _need_dof(names: Sequence[str], dofs: Sequence[int]) -> None:
    for name, dof in zip(names, dofs, strict=False):
        if dof < 1:
            raise InputError(name, "a single group in each", f"two groups of level {name!r} somewhere")
    if dofs[-1] < 1:
        raise InputError(names[-1], "one value in every group", "a group with two values, for repeatability")

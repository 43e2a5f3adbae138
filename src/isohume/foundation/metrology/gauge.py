"""A gauge study: every analyst (or instrument) reads every part several times; what scatters, the parts or the reading?

Two-factor analysis of variance, both factors random, equal numbers in every cell. A component that comes out
negative is zero and says so.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

from isohume.foundation.metrology.intervals import Term, VarianceInterval, component_interval
from isohume.foundation.quantity.errors import InputError

_POOL_ABOVE = 0.25  # no source: common practice, and the cautious side of 0.05


@dataclass(frozen=True, slots=True)
class SourceOfVariation:
    """A line of the analysis of variance; `f` and `p_value` are None for the repeatability."""

    name: str
    dof: int
    sum_of_squares: float
    mean_square: float
    f: float | None = None
    p_value: float | None = None


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """The table of the analysis and the components of variance with their intervals.

    `interaction` is None where it was pooled into the repeatability. `reproducibility` holds analyst and interaction
    together, `gauge` that and repeatability, `total` that and the parts.
    """

    parts: int
    analysts: int
    repeats: int
    grand_mean: float
    sources: tuple[SourceOfVariation, ...]
    part: VarianceInterval
    analyst: VarianceInterval
    interaction: VarianceInterval | None
    repeatability: VarianceInterval
    reproducibility: VarianceInterval
    gauge: VarianceInterval

    @property
    def components(self) -> dict[str, VarianceInterval]:
        """The components by name, outermost first."""
        named = {"part": self.part, "analyst": self.analyst, "part x analyst": self.interaction}
        return {k: v for k, v in {**named, "repeatability": self.repeatability}.items() if v is not None}

    @property
    def reproducibility_variance(self) -> float:
        """Analyst and interaction, each never below zero."""
        return self.analyst.variance + (self.interaction.variance if self.interaction else 0.0)

    @property
    def gauge_variance(self) -> float:
        """Repeatability and reproducibility together."""
        return self.repeatability.variance + self.reproducibility_variance

    @property
    def total_variance(self) -> float:
        """Everything: the gauge and the parts."""
        return self.gauge_variance + self.part.variance

    def share(self, variance: float) -> float:
        """The share of a variance in the total."""
        return variance / self.total_variance if self.total_variance > 0.0 else 0.0

    @property
    def distinct_categories(self) -> int | None:
        """How many groups of parts the readings tell apart: sqrt(2) s_part/s_gauge, truncated; None without scatter."""
        if self.gauge_variance == 0.0:
            return None
        return max(1, math.floor(math.sqrt(2.0 * self.part.variance / self.gauge_variance)))

    @property
    def zeroed(self) -> tuple[str, ...]:
        """The components that came out negative and were set to zero."""
        return tuple(name for name, one in self.components.items() if one.raw < 0.0)


def gauge_study(
    values: Sequence[float],
    parts: Sequence[Hashable],
    analysts: Sequence[Hashable],
    confidence: float = 0.95,
    pool_above: float | None = _POOL_ABOVE,
) -> GaugeStudy:
    """Part, analyst, interaction and repeatability from readings of every part by every analyst.

        s_e^2 = MS_E; s_po^2 = (MS_PO - MS_E)/n; s_o^2 = (MS_O - MS_PO)/(p n); s_p^2 = (MS_P - MS_PO)/(o n)
    values: the readings [any unit].
    parts: for each reading its part or portion [text].
    analysts: for each reading who or what read it [text]: an analyst, an instrument, or both as one name.
    confidence: two-sided confidence of the intervals [1], above 0 and below 1.
    pool_above: the interaction goes into the repeatability where its p is above this [1]; None never pools.
    Returns: the GaugeStudy [same unit].
    Raises: InputError for unequal lengths, unequal numbers in the cells, fewer than two of anything.
    Example: thermal impedance of ten parts by three inspectors (source): 48.29, 0.56, 0.73 and 0.51.
    Source: Montgomery2009, chapter 8 (gauge capability studies).
    """
    cells = _cells(values, parts, analysts)
    rows = list(dict.fromkeys(parts))
    columns = list(dict.fromkeys(analysts))
    n = len(cells[rows[0], columns[0]])
    table = _anova(cells, rows, columns, n)
    p_value = table[2].p_value
    if pool_above is not None and p_value is not None and p_value > pool_above:
        table = _without_interaction(table)
    return _study(table, (len(rows), len(columns), n), math.fsum(values) / len(values), confidence)


def _study(
    table: Sequence[SourceOfVariation], numbers: tuple[int, int, int], mean: float, confidence: float
) -> GaugeStudy:
    p, o, n = numbers
    squares = {one.name: (one.mean_square, float(one.dof)) for one in table}

    def interval(**factors: float) -> VarianceInterval:
        terms: list[Term] = [(c, *squares[name.replace("_x_", " x ")]) for name, c in factors.items()]
        return component_interval(terms, confidence)

    error = interval(repeatability=1.0)
    if "part x analyst" not in squares:
        analyst = interval(analyst=1 / (p * n), repeatability=-1 / (p * n))
        part = interval(part=1 / (o * n), repeatability=-1 / (o * n))
        gauge = interval(analyst=1 / (p * n), repeatability=1 - 1 / (p * n))
        return GaugeStudy(p, o, n, mean, tuple(table), part, analyst, None, error, analyst, gauge)
    analyst = interval(analyst=1 / (p * n), part_x_analyst=-1 / (p * n))
    part = interval(part=1 / (o * n), part_x_analyst=-1 / (o * n))
    both = interval(part_x_analyst=1 / n, repeatability=-1 / n)
    over = interval(analyst=1 / (p * n), part_x_analyst=(p - 1) / (p * n), repeatability=-1 / n)
    gauge = interval(analyst=1 / (p * n), part_x_analyst=(p - 1) / (p * n), repeatability=1 - 1 / n)
    return GaugeStudy(p, o, n, mean, tuple(table), part, analyst, both, error, over, gauge)


def _anova(
    cells: Mapping[tuple[Hashable, Hashable], list[float]], rows: list[Hashable], columns: list[Hashable], n: int
) -> list[SourceOfVariation]:
    p, o = len(rows), len(columns)
    means = {key: math.fsum(cell) / n for key, cell in cells.items()}
    grand = math.fsum(means.values()) / (p * o)
    row_mean = {i: math.fsum(means[i, j] for j in columns) / o for i in rows}
    column_mean = {j: math.fsum(means[i, j] for i in rows) / p for j in columns}
    ss_part = o * n * math.fsum((m - grand) ** 2 for m in row_mean.values())
    ss_analyst = p * n * math.fsum((m - grand) ** 2 for m in column_mean.values())
    ss_both = n * math.fsum((means[i, j] - row_mean[i] - column_mean[j] + grand) ** 2 for i in rows for j in columns)
    ss_error = math.fsum((x - means[key]) ** 2 for key, cell in cells.items() for x in cell)
    both = ss_both / ((p - 1) * (o - 1)), (p - 1) * (o - 1)
    return [
        _line("part", p - 1, ss_part, both),
        _line("analyst", o - 1, ss_analyst, both),
        _line("part x analyst", (p - 1) * (o - 1), ss_both, (ss_error / (p * o * (n - 1)), p * o * (n - 1))),
        _line("repeatability", p * o * (n - 1), ss_error, None),
    ]


def _without_interaction(table: Sequence[SourceOfVariation]) -> list[SourceOfVariation]:
    part, analyst, both, error = table
    dof, total = both.dof + error.dof, both.sum_of_squares + error.sum_of_squares
    under = total / dof, dof
    return [
        _line(part.name, part.dof, part.sum_of_squares, under),
        _line(analyst.name, analyst.dof, analyst.sum_of_squares, under),
        _line(error.name, dof, total, None),
    ]


def _line(name: str, dof: int, sum_of_squares: float, under: tuple[float, int] | None) -> SourceOfVariation:
    from scipy.special import fdtrc

    mean_square = sum_of_squares / dof
    if under is None or under[0] == 0.0:
        return SourceOfVariation(name, dof, sum_of_squares, mean_square)
    f = mean_square / under[0]
    return SourceOfVariation(name, dof, sum_of_squares, mean_square, f, float(fdtrc(dof, under[1], f)))


def _cells(
    values: Sequence[float], parts: Sequence[Hashable], analysts: Sequence[Hashable]
) -> dict[tuple[Hashable, Hashable], list[float]]:
    if not len(values) == len(parts) == len(analysts):
        raise InputError("values", f"{len(values)} readings", "a part and an analyst for each")
    cells: dict[tuple[Hashable, Hashable], list[float]] = {}
    for row, (x, part, analyst) in enumerate(zip(values, parts, analysts, strict=True), start=1):
        if not math.isfinite(x):
            raise InputError("values", x, "finite numbers", row=row)
        cells.setdefault((part, analyst), []).append(x)
    rows, columns = set(parts), set(analysts)
    if len(rows) < 2 or len(columns) < 2:
        raise InputError("parts", f"{len(rows)} parts, {len(columns)} analysts", "at least two of each")
    if len(cells) < len(rows) * len(columns):
        gap = next(f"part {i} by {j}" for i in parts for j in analysts if (i, j) not in cells)
        raise InputError("parts", f"no reading of {gap}", "every part read by everyone")
    numbers = {len(cell) for cell in cells.values()}
    if numbers == {1} or len(numbers) > 1:
        read = "once" if numbers == {1} else f"{min(numbers)} to {max(numbers)} times"
        raise InputError("values", f"parts read {read}", "the same number of readings in each cell, two or more")
    return cells

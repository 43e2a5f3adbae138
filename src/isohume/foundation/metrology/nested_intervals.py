"""Intervals of the components of nested data, and of the sums that make an intermediate precision."""

from __future__ import annotations

from collections.abc import Collection

from isohume.foundation.metrology.components import VarianceComponents
from isohume.foundation.metrology.intervals import VarianceInterval, component_interval, variance_interval
from isohume.foundation.quantity.errors import InputError

REPEATABILITY = "repeatability"


def component_intervals(found: VarianceComponents, confidence: float = 0.95) -> dict[str, VarianceInterval]:
    """Each component of nested data with its interval, outermost level first, repeatability last.

        each component is a combination of mean squares: modified large-sample; repeatability: exact
    found: the components [any unit].
    confidence: two-sided confidence [1], above 0 and below 1.
    Returns: level name to VarianceInterval [square of the unit]; approximate where numbers are unequal.
    Raises: RangeError for a confidence out of range.
    Example: ten days of five readings (source): repeatability 85 (70 to 109), between days 43 (0 to 99) uV.
    Source: Ting1990; data JCGM100, H.5.
    """
    named = {
        level.name: component_interval(_terms(found, {level.name: 1.0}), confidence)
        for level in found.levels  # outermost first
    }
    return {**named, REPEATABILITY: variance_interval(found.residual_mean_square, found.residual_dof, confidence)}


def intermediate_precision(
    found: VarianceComponents, levels: Collection[str], confidence: float = 0.95
) -> VarianceInterval:
    """The intermediate precision: repeatability and the named components together.

        s_I^2 = s_r^2 + sum of the named components
    found: the components [any unit].
    levels: names of the levels that count, such as day and analyst [text]; none gives the repeatability.
    confidence: two-sided confidence [1], above 0 and below 1.
    Returns: the VarianceInterval [square of the unit]; `raw` takes a negative component as it came out.
    Raises: InputError for an unknown level; RangeError for a confidence out of range.
    Example: ten days of five readings (source): sqrt(85^2 + 43^2) = 95 uV.
    Source: ISO5725-3 (nested designs); Ting1990.
    """
    known = {level.name for level in found.levels}
    unknown = sorted(set(levels) - known)
    if unknown:
        raise InputError("levels", ", ".join(unknown), f"levels of the data: {', '.join(sorted(known))}")
    if not levels:
        return variance_interval(found.residual_mean_square, found.residual_dof, confidence)
    wanted = dict.fromkeys(levels, 1.0)
    return component_interval(_terms(found, {**wanted, REPEATABILITY: 1.0}), confidence)


def _terms(found: VarianceComponents, wanted: dict[str, float]) -> list[tuple[float, float, float]]:
    """The wanted sum of components as a combination of the mean squares, whose expectations are triangular."""
    depth = len(found.levels)
    solved: list[list[float]] = [[] for _ in range(depth)]
    for q in range(depth - 1, -1, -1):
        level = found.levels[q]
        row = [0.0] * (depth + 1)
        row[q], row[depth] = 1.0, -1.0
        for k, below in zip(level.coefficients[1:], solved[q + 1 :], strict=True):
            row = [a - k * b for a, b in zip(row, below, strict=True)]
        solved[q] = [a / level.coefficients[0] for a in row]
    total = [0.0] * (depth + 1)
    for level, row in zip(found.levels, solved, strict=True):
        share = wanted.get(level.name, 0.0)
        total = [a + share * b for a, b in zip(total, row, strict=True)]
    total[depth] += wanted.get(REPEATABILITY, 0.0)
    squares = [(one.mean_square, float(one.dof)) for one in found.levels]
    squares.append((found.residual_mean_square, float(found.residual_dof)))
    return [(c, ms, dof) for c, (ms, dof) in zip(total, squares, strict=True) if abs(c) > 1e-12]

"""Grubbs and Dixon: hints that a value lies apart. They never remove one.

A value is left out of a result only for an assignable cause that somebody found and wrote down.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError, RangeError

_TABLES = Path(__file__).with_name("dixon.json")
_KEEP = "A hint, not a reason: the value stays unless an assignable cause is found and recorded."
DixonTable = Literal["r10_two_sided", "one_sided"]


@dataclass(frozen=True, slots=True)
class OutlierHint:
    """What an outlier test says about the value that lies furthest apart; `position` counts from 0."""

    test: str
    n: int
    alpha: float
    statistic: float
    critical: float
    suspect: float
    position: int
    lies_apart: bool
    hint: str


def grubbs_critical(n: int, alpha: float = 0.05, two_sided: bool = True) -> float:
    """The critical value of Grubbs' test for one outlier.

        G = (n-1)/sqrt(n) sqrt(t^2/(n-2+t^2)), t at alpha/(2n) (two-sided) or alpha/n, dof n - 2
    n: number of values [1], 3 or more.
    alpha: significance level [1], above 0 and below 0.5.
    two_sided: whether an outlier on either side is asked for [1].
    Returns: critical value [1].
    Raises: RangeError for n below 3 or an alpha out of range.
    Example: f(8) = 2.1266; f(8, 0.05, False) = 2.0317.
    Source: ISO5725-2, 8.3.4 (closed form from Student's t).
    """
    if not n >= 3:
        raise RangeError("n", n, 3, math.inf, why="Grubbs needs three values")
    _need_alpha(alpha)
    t = student_quantile(1.0 - alpha / (2 * n if two_sided else n), n - 2)
    return (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))


def grubbs(values: Sequence[float], alpha: float = 0.05, two_sided: bool = True) -> OutlierHint:
    """Grubbs' test on the value furthest from the mean, as a hint.

        G = max(abs(x - mean))/s
    values: the values [any unit], 3 or more, not all equal.
    alpha: significance level [1], above 0 and below 0.5.
    two_sided: whether an outlier on either side was looked for [1]; False only if the side was fixed before.
    Returns: the OutlierHint.
    Raises: InputError for too few, equal or not finite values.
    Example: eight uranium isotope ratios: G = 2.4687 beyond 2.1266, 245.57 lies apart.
    Source: ISO5725-2, 8.3.4.
    """
    numbers = _need_values(values, 3)
    n = len(numbers)
    mean = math.fsum(numbers) / n
    s = math.sqrt(math.fsum((x - mean) ** 2 for x in numbers) / (n - 1))
    position = max(range(n), key=lambda i: abs(numbers[i] - mean))
    statistic = abs(numbers[position] - mean) / s
    sides = "two-sided" if two_sided else "one-sided"
    critical = grubbs_critical(n, alpha, two_sided)
    return _hint(f"Grubbs, {sides}", numbers, alpha, statistic, critical, position)


def dixon_critical(n: int, alpha: float = 0.05, table: DixonTable = "r10_two_sided") -> float:
    """The critical value of Dixon's ratio, as printed; nothing is interpolated.

    n: number of values [1], one that the table prints (3 to 10 for "r10_two_sided").
    alpha: significance level [1], one that the table prints.
    table: "r10_two_sided", or "one_sided" whose ratio changes with n [text].
    Returns: critical value [1].
    Raises: RangeError for an n or InputError for an alpha the table does not print.
    Example: f(8) = 0.526 (r10); f(8, 0.05, "one_sided") = 0.554 (r11).
    Source: Rorabacher1991, r10 table; Dixon1951.
    """
    critical = _table(table)["critical"]
    column = next((cells for level, cells in critical.items() if float(level) == alpha), None)
    if column is None:
        raise InputError("alpha", alpha, f"one of {', '.join(critical)}")
    if str(n) not in column:
        printed = sorted(int(one) for one in column)
        raise RangeError("n", n, printed[0], printed[-1], why=f"printed for {printed}")
    return float(column[str(n)])


def dixon(values: Sequence[float], alpha: float = 0.05, table: DixonTable = "r10_two_sided") -> OutlierHint:
    """Dixon's ratio for the more distant end of the values, as a hint.

        r10 = gap/range; r11, r21, r22 leave out values at the far ends (chosen by n in "one_sided")
    values: the values [any unit], as many as the table prints, not all equal.
    alpha: significance level [1], one that the table prints.
    table: "r10_two_sided", or "one_sided" for a side fixed before looking [text].
    Returns: the OutlierHint.
    Raises: InputError for too few, equal or not finite values; RangeError where the table has no such n.
    Example: f([0.189, 0.167, 0.187, 0.183, 0.186, 0.182, 0.181, 0.184, 0.181, 0.177]) has r10 = 0.4545.
    Source: Rorabacher1991, r10 table; Dixon1951.
    """
    numbers = _need_values(values, 3)
    critical = dixon_critical(len(numbers), alpha, table)
    name = _ratio_name(len(numbers), table)
    order = sorted(range(len(numbers)), key=numbers.__getitem__)
    ordered = [numbers[i] for i in order]
    low = _ratio(name, ordered)
    high = _ratio(name, [-x for x in reversed(ordered)])
    statistic, position = (high, order[-1]) if high >= low else (low, order[0])
    return _hint(f"Dixon {name}, {table}", numbers, alpha, statistic, critical, position)


@cache
def _tables() -> dict[str, Any]:
    tables: dict[str, Any] = json.loads(_TABLES.read_text(encoding="utf-8"))
    return tables


def _table(name: str) -> dict[str, Any]:
    tables = _tables()
    if name not in tables:
        raise InputError("table", name, " or ".join(tables))
    table: dict[str, Any] = tables[name]
    return table


def _ratio_name(n: int, table: str) -> str:
    return next(str(name) for name, low, high in _table(table)["ratios"] if low <= n <= high)


def _ratio(name: str, ordered: Sequence[float]) -> float:
    """The ratio for the lowest of ascending values: r_jk skips j - 1 neighbours and k far values."""
    gap, left_out = int(name[1]), int(name[2])
    base = ordered[-1 - left_out] - ordered[0]
    return (ordered[gap] - ordered[0]) / base if base > 0.0 else 0.0


def _need_values(values: Sequence[float], least: int) -> list[float]:
    numbers = [float(value) for value in values]
    if len(numbers) < least:
        raise InputError("values", f"{len(numbers)} values", f"at least {least}")
    if not all(math.isfinite(x) for x in numbers):
        raise InputError("values", "a value that is not finite", "finite numbers")
    if min(numbers) == max(numbers):
        raise InputError("values", numbers[0], "values that are not all equal")
    return numbers


def _need_alpha(alpha: float) -> None:
    if not 0.0 < alpha < 0.5:
        raise RangeError("alpha", alpha, 0.0, 0.5, why="significance level, both ends excluded")


def _hint(
    test: str, numbers: Sequence[float], alpha: float, statistic: float, critical: float, position: int
) -> OutlierHint:
    apart = statistic > critical
    suspect = numbers[position]
    compared = f"{test}: {statistic:.4g} against {critical:.4g} at {alpha:g}"
    says = f"{suspect:g} lies apart. {_KEEP}" if apart else "no value lies apart."
    return OutlierHint(test, len(numbers), alpha, statistic, critical, suspect, position, apart, f"{compared}: {says}")

"""The rows of precision.csv as outside checks: ISO 5725-2, a gauge study, agreement of two meters, rounds.

The tolerance is half the last printed digit; where a table or a paper went on with its own rounded numbers it is what
that does, said beside the example.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from functools import cache

from isohume.foundation import metrology
from isohume.outlets.validate.check import Check, Left, last_digit, read_table

FILE = "precision.csv"
Row = dict[str, str]

# units of the last printed digit; half a unit where nothing else is known
_UNITS = {
    # tables of critical values are one unit off their closed form in places
    "Cochran": 1.0,
    "Mandel h": 1.0,
    "Mandel k": 1.0,
    # the paper goes on with its rounded mean -2.1 and s 38.8 (limits) and with t 2.12 and their rounded errors (ends)
    "lower limit": 1.0,
    "upper limit": 1.0,
    "lower limit, lower end": 2.0,
    "lower limit, upper end": 2.0,
    "upper limit, lower end": 1.0,
    "upper limit, upper end": 2.0,
    # 1.134 of the standard is 1.1334, the exact constant of the library, rounded: 0.0005 of s
    "algorithm A": 6.0,
}


def checks() -> Iterator[Check]:
    """Every row of the table; each is a check."""
    return (_checked(row) for row in read_table(FILE))


def left_out() -> Iterator[Left]:
    """No row is left out."""
    return iter(())


def _checked(row: Row) -> Check:
    kind = row["example"].partition(":")[0]
    printed = row["value"].split(" / ")
    computed = _BY_KIND[kind](row)
    if len(printed) != len(computed):
        raise ValueError(f"{row['id']}: {len(printed)} printed numbers, {len(computed)} computed")

    def off(pair: tuple[str, float]) -> float:
        return abs(float(pair[0]) - pair[1]) / last_digit(pair[0])

    text, value = max(zip(printed, computed, strict=True), key=off)
    unit = f" [{row['units']}]" if row["units"] else ""
    return Check(
        id=row["id"],
        what=f"{row['example']}: {row['quantity']}{unit}",
        source=row["source"],
        how=row["how"],
        expected=float(text),
        computed=value,
        tolerance=_UNITS.get(kind, _UNITS.get(row["quantity"], 0.5)) * last_digit(text),
        file=FILE,
    )


def groups_of(text: str) -> list[list[float]]:
    """Groups of numbers between semicolons."""
    return [[float(one) for one in group.split()] for group in text.split(";")]


def _precision(row: Row) -> list[float]:
    found = metrology.precision_level(groups_of(row["inputs"]))
    return [found.mean, found.s_r, found.s_reproducibility]


def _numbers(row: Row) -> list[int]:
    return [int(one) for one in re.findall(r"=(\d+)", row["example"])]


def _cochran(row: Row) -> list[float]:
    p, n = _numbers(row)
    return [metrology.cochran_critical(p, n, alpha) for alpha in (0.01, 0.05)]


def _mandel_h(row: Row) -> list[float]:
    (p,) = _numbers(row)
    return [metrology.mandel_h_critical(p, alpha) for alpha in (0.01, 0.05)]


def _mandel_k(row: Row) -> list[float]:
    p, n = _numbers(row)
    return [metrology.mandel_k_critical(p, n, alpha) for alpha in (0.01, 0.05)]


@cache
def study_of(text: str) -> metrology.GaugeStudy:
    """A gauge study from its printed readings: parts between semicolons, analysts between bars."""
    values, parts, analysts = [], [], []
    for part, cells in enumerate(text.split(";"), start=1):
        for analyst, cell in enumerate(cells.split("|"), start=1):
            for one in cell.split():
                values.append(float(one))
                parts.append(part)
                analysts.append(analyst)
    return metrology.gauge_study(values, parts, analysts)


def _gauge(row: Row) -> list[float]:
    study = study_of(row["inputs"])
    of, _, name = row["quantity"].partition(": ")
    if of == "variance":
        return [study.gauge_variance if name == "gauge" else study.components[name].variance]
    line = next(one for one in study.sources if one.name == name)
    return [line.sum_of_squares if of == "sum of squares" else line.mean_square]


def _interval(row: Row) -> list[float]:
    found = metrology.satterthwaite_interval([(1 / 6, 62.39, 19), (-1 / 6, 0.71, 38)])
    return [found.low if "lower" in row["quantity"] else found.dof or math.nan]


def _agreement(row: Row) -> list[float]:
    first, second = groups_of(row["inputs"])
    found = metrology.paired_difference(first, second, factor=2.0)
    (low, high), (upper_low, upper_high) = found.agreement_low_interval, found.agreement_high_interval
    by_name = {
        "mean difference": found.mean,
        "s of the differences": found.s,
        "lower limit": found.agreement_low,
        "upper limit": found.agreement_high,
        "mean difference, lower end": found.low,
        "mean difference, upper end": found.high,
        "lower limit, lower end": low,
        "lower limit, upper end": high,
        "upper limit, lower end": upper_low,
        "upper limit, upper end": upper_high,
    }
    return [by_name[row["quantity"]]]


def _deming(row: Row) -> list[float]:
    first, second = groups_of(row["inputs"])
    line = metrology.deming_line(first, second)
    return [line.slope if row["quantity"] == "slope" else line.offset]


def _robust(row: Row) -> list[float]:
    found = metrology.algorithm_a(groups_of(row["inputs"])[0])
    return [found.mean if row["quantity"] == "robust mean" else found.s]


def _factors(row: Row) -> list[float]:
    (m,) = _numbers(row)
    return list(metrology.homogeneity_factors(m))


def _homogeneity(row: Row) -> list[float]:
    found = metrology.homogeneity([(a, b) for a, b in groups_of(row["inputs"])], 1.1)
    return [found.s_analytical**2 if row["quantity"] == "s_an^2" else found.sample_raw]


_BY_KIND: dict[str, Callable[[Row], list[float]]] = {
    "precision": _precision,
    "Cochran": _cochran,
    "Mandel h": _mandel_h,
    "Mandel k": _mandel_k,
    "gauge study": _gauge,
    "interval": _interval,
    "agreement": _agreement,
    "Deming": _deming,
    "algorithm A": _robust,
    "homogeneity factors": _factors,
    "homogeneity": _homogeneity,
}

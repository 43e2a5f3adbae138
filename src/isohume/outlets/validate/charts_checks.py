"""The rows of run_lengths.csv as outside checks: average run lengths of control charts.

The tolerance is half the last printed digit (500. is printed to the unit), and for weighted moving averages what half a
digit of the width they are printed with changes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from isohume.foundation import metrology
from isohume.outlets.validate.check import Check, Left, last_digit, read_table

FILE = "run_lengths.csv"
Row = dict[str, str]


def checks() -> Iterator[Check]:
    """Every row of the table that is a check of ours."""
    return (_check(row) for row in read_table(FILE) if not _only_recalled(row))


def left_out() -> Iterator[Left]:
    """Every row of the table that is none, with the reason."""
    reason = "from memory and confirmed by nothing"
    return (Left(row["id"], FILE, reason) for row in read_table(FILE) if _only_recalled(row))


def rules_of(example: str) -> metrology.ChartRules:
    """The chart that a row speaks of."""
    kind, _, said = example.partition(": ")
    if kind == "individuals":
        return metrology.ChartRules(rules=tuple(said.split(", ")))
    given = {name: float(number) for name, number in re.findall(r"(\w+)=([\d.]+)", said)}
    if kind == "cusum":
        return metrology.ChartRules(kind=kind, k=given["k"], h=given["h"])
    return metrology.ChartRules(kind=kind, weight=given["lambda"], width=given["width"])


def shift_of(row: Row) -> float:
    """How far the mean has moved in the row, in units of sigma."""
    return float(row["quantity"].removeprefix("shift "))


def _only_recalled(row: Row) -> bool:
    return row["how"] == "memory" and not row["check"]


def _length(rules: metrology.ChartRules, shift: float) -> float:
    return metrology.average_run_length(rules, shift, settled_limits=True)


def _of_width(rules: metrology.ChartRules, shift: float) -> float:
    """What half a digit of the printed width is worth in points."""
    if rules.kind != "ewma":
        return 0.0
    wide, narrow = (replace(rules, width=rules.width + step) for step in (0.0005, -0.0005))
    return 0.5 * abs(_length(wide, shift) - _length(narrow, shift))


def _check(row: Row) -> Check:
    rules, shift = rules_of(row["example"]), shift_of(row)
    return Check(
        id=row["id"],
        what=f"average run length, {row['example']}, {row['quantity']} sigma",
        source=row["source"],
        how=row["how"],
        expected=float(row["value"]),
        computed=_length(rules, shift),
        tolerance=0.5 * last_digit(row["value"].removesuffix(".")) + _of_width(rules, shift),
        file=FILE,
    )

"""Remarks on rows: one line for each kind, with its first row and how many more there are."""

from __future__ import annotations

from isohume.bench.reading.remarks import Remarks


def test_one_line_for_each_kind() -> None:
    remarks = Remarks("r.csv")
    for row in range(2, 100_000):
        remarks.add(row, [f"a_w: decimal comma in 0,{row} read as 0.{row}"])
    remarks.add(7, ["read_at: no offset given, read as UTC"])
    assert remarks.lines() == [
        "r.csv: row 2: a_w: decimal comma in 0,2 read as 0.2 (and so in 99997 more rows)",
        "r.csv: row 7: read_at: no offset given, read as UTC",
    ]


def test_one_more_row_is_no_rows() -> None:
    remarks = Remarks("r.csv")
    for row in (2, 3):
        remarks.add(row, ["read_at: no offset given, read as UTC"])
    assert remarks.lines() == ["r.csv: row 2: read_at: no offset given, read as UTC (and so in 1 more row)"]


def test_nothing_said_is_nothing() -> None:
    assert Remarks("r.csv").lines() == []

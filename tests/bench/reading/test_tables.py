"""Readings files: streamed CSV and XLSX; whatever would have to be guessed at is refused with its place."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import pytest
import xlsxwriter

from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity import InputError

REQUIRED = ("portion", "a_w")


def rows(path: Path, mapping: dict[str, str] | None = None) -> list[Row]:
    """All rows of a file."""
    return list(read_rows(path, REQUIRED, mapping))


def written(tmp_path: Path, content: bytes | str, name: str = "r.csv") -> Path:
    """A file with that content."""
    path = tmp_path / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def test_rows_carry_the_number_a_person_counts(tmp_path: Path) -> None:
    found = rows(written(tmp_path, "portion,a_w\nA,0.61\n\nB,0.62\n"))
    assert [(row.number, row.get("portion"), row.get("a_w")) for row in found] == [(2, "A", "0.61"), (4, "B", "0.62")]


def test_byte_order_mark_semicolons_and_decimal_commas(tmp_path: Path) -> None:
    found = rows(written(tmp_path, "\ufeffportion;a_w\r\nA;0,61\r\n"))
    assert found[0].cells == {"portion": "A", "a_w": "0,61\r\n".strip()} | {}


def test_other_headings_through_a_mapping(tmp_path: Path) -> None:
    found = rows(written(tmp_path, "Cup,Value,Note\nA,0.61,x\n"), {"portion": "Cup", "a_w": "Value"})
    assert found[0].get("a_w") == "0.61"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("", "a header row"),
        ("portion,a_w\n", "at least one row"),
        ("portion,a_w,a_w\nA,1,1\n", "each column once"),
        ("portion\nA\n", "a column 'a_w'"),
        ("portion,a_w\nA,0,61\n", "row 2: columns: read '3 cells'"),
        (b"portion,a_w\nA,0.61\nM\xfcller,0.61\n", "row 3: encoding: read 'byte 0xfc at position 2'; allowed: UTF-8"),
        (b"\xff\xfep\x00o\x00", "UTF-16"),
        (b"portion,a_w\nA,0.\x0061\n", "NUL"),
        (b"PK\x03\x04rest", "zip"),
        ('portion,a_w\n"A,0.61\n', "balanced quotes"),
        ("portion,a_w\n" + "A" * 70_000 + ",0.6\n", "shorter rows"),
        (",".join(f"c{i}" for i in range(300)) + "\n", "at most 200 columns"),
    ],
)
def test_refusals(tmp_path: Path, content: bytes | str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        rows(written(tmp_path, content))
    text = str(refused.value)
    assert says in text
    assert text.startswith("r.csv: ")
    assert "\n" not in text


def test_a_mapping_that_does_not_fit_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, "Cup,Value\nA,0.61\n")
    with pytest.raises(InputError, match=r"columns.a_w: read 'Reading'"):
        rows(path, {"portion": "Cup", "a_w": "Reading"})
    with pytest.raises(InputError, match="not yet mapped"):
        rows(path, {"portion": "Cup", "a_w": "Cup"})


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"nowhere\.csv"):
        rows(tmp_path / "nowhere.csv")


def test_a_hundred_megabytes_are_streamed_and_refused_at_the_limit(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.write(b"portion,a_w\n")
        block = b"A,0.6123\n" * 100_000
        for _ in range(112):
            file.write(block)
    assert path.stat().st_size > 100_000_000
    tracemalloc.start()
    with pytest.raises(InputError, match="at most 100000 rows"):
        for _ in read_rows(path, REQUIRED):
            pass
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 2_000_000


def workbook(path: Path, *, formula: bool = False, merged: bool = False) -> Path:
    """A workbook with one portion, numbers as numbers."""
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet()
    sheet.write_row(0, 0, ["portion", "a_w", "n"])
    sheet.write_row(1, 0, ["A", 0.6123, 3])
    if formula:
        sheet.write_formula(1, 1, "=0.6+0.01")
    if merged:
        sheet.merge_range(2, 0, 3, 0, "B")
    book.close()
    return path


def test_a_worksheet_reads_like_a_csv(tmp_path: Path) -> None:
    found = rows(workbook(tmp_path / "r.xlsx"))
    assert [(row.number, row.cells) for row in found] == [(2, {"portion": "A", "a_w": "0.6123", "n": "3"})]


def test_formulas_and_merged_cells_are_refused_with_their_cell(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a formula in B2"):
        rows(workbook(tmp_path / "f.xlsx", formula=True))
    with pytest.raises(InputError, match="A3:A4 merged"):
        rows(workbook(tmp_path / "m.xlsx", merged=True))


def test_a_broken_workbook_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="readable XLSX"):
        rows(written(tmp_path, b"not a zip", "b.xlsx"))
    good = workbook(tmp_path / "g.xlsx").read_bytes()
    with pytest.raises(InputError, match="readable XLSX"):
        rows(written(tmp_path, good[: len(good) // 2], "half.xlsx"))

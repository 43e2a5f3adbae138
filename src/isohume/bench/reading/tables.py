"""Rows of a readings file, streamed: CSV in UTF-8 or a worksheet of an XLSX file, with the row number kept.

A row is a dict of column name to text as it stands in the file. Whatever would have to be guessed at (another
encoding, merged cells, formulas, two columns of one name) is refused with the place and what is allowed.
"""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import IO

from isohume.foundation.quantity.errors import InputError

LONGEST_LINE = 65_536
MOST_COLUMNS = 200
MOST_ROWS = 100_000
LONGEST_HEADING = 100
LIKENESS = 0.85
"""How alike two headings may be before one is taken for a slip of the other (difflib's ratio; by trial, no source)."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a file: its number as a person counts (the header is row 1) and its cells by column name."""

    number: int
    cells: dict[str, str]

    def get(self, column: str) -> str:
        """The text of a column, stripped; empty where the file has no such column."""
        return self.cells.get(column, "").strip()


def read_rows(
    path: Path, required: tuple[str, ...], mapping: dict[str, str] | None = None, known: tuple[str, ...] = ()
) -> Iterator[Row]:
    """The rows of a CSV or XLSX file, one at a time.

    path: the file [text]; .csv (UTF-8; comma, semicolon or tab) or .xlsx (first worksheet).
    required: columns that must be there [text].
    mapping: our column name -> the file's column name [text], for files with other headings.
    known: columns that are read where they are there [text]; a heading that looks like one of them is refused.
    Returns: an iterator of Row [text]; blank rows are passed over.
    Raises: InputError naming file, row and column for anything that would have to be guessed.
    Beyond: at most 100 000 rows, 200 columns, 65 536 characters a line; more is refused, not loaded.
    Source: none.
    """
    if not path.is_file():
        kind = "a file, not a folder" if path.is_dir() else "an existing CSV or XLSX file"
        raise InputError("file", path.name or str(path), kind)
    rows = _xlsx_rows(path) if path.suffix.lower() in (".xlsx", ".xlsm") else _csv_rows(path)
    header = next(rows, None)
    if header is None:
        raise InputError("file", "empty", "a header row and at least one row", file=path.name)
    columns = _columns(header[1], mapping or {}, required, path.name)
    _refuse_near_misses(columns, known, path.name)
    found = 0
    for number, cells in rows:
        if not any(cell.strip() for cell in cells):
            continue
        found += 1
        if found > MOST_ROWS:
            raise InputError("rows", f"more than {MOST_ROWS}", f"at most {MOST_ROWS} rows", file=path.name, row=number)
        yield _row(number, cells, columns, path.name)
    if not found:
        raise InputError("file", "no rows under the header", "at least one row", file=path.name)


def _row(number: int, cells: list[str], columns: list[str], file: str) -> Row:
    if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
        raise InputError(
            "columns",
            f"{len(cells)} cells",
            f"{len(columns)} cells as in the header (a decimal comma in a comma-separated file needs quotes)",
            file=file,
            row=number,
        )
    return Row(number, dict(zip(columns, cells, strict=False)))


def _columns(header: list[str], mapping: dict[str, str], required: tuple[str, ...], file: str) -> list[str]:
    names = [name.strip().removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}") for name in header]
    if len(names) > MOST_COLUMNS:
        raise InputError("columns", len(names), f"at most {MOST_COLUMNS} columns", file=file, row=1)
    seen = [name for name in names if name]
    for name in seen:
        if seen.count(name) > 1:
            raise InputError("columns", name, "each column once (it stands there twice)", file=file, row=1)
    theirs_to_ours = _reverse(mapping, seen, file)
    ours = [theirs_to_ours.get(name, name if name not in mapping else "") for name in names]
    missing = [name for name in required if name not in ours]
    if missing:
        raise InputError("columns", ", ".join(seen) or "none", f"a column {missing[0]!r}", file=file, row=1)
    return ours


def _refuse_near_misses(columns: list[str], known: tuple[str, ...], file: str) -> None:
    """A misspelt heading would be passed over in silence, and a void run would count."""
    absent = [name for name in known if name not in columns]
    for heading in columns:
        if heading and heading not in known:
            plain = re.sub(r"[\W_]+", "_", heading.casefold()).strip("_")
            near = difflib.get_close_matches(plain[:LONGEST_HEADING], absent, 1, LIKENESS)
            if near:
                raise InputError("columns", heading, f"{near[0]!r}, or a heading unlike it", file=file, row=1)


def _reverse(mapping: dict[str, str], present: list[str], file: str) -> dict[str, str]:
    reverse: dict[str, str] = {}
    for ours, theirs in mapping.items():
        if theirs not in present:
            raise InputError(f"columns.{ours}", theirs, f"a column of the file: {', '.join(present)}", file=file)
        if theirs in reverse:
            raise InputError(f"columns.{ours}", theirs, f"a column not yet mapped to {reverse[theirs]!r}", file=file)
        reverse[theirs] = ours
    return reverse


def _csv_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    with path.open("rb") as raw:
        start = raw.read(4)
        if start[:2] in (b"\xff\xfe", b"\xfe\xff"):
            raise InputError("encoding", "UTF-16", "UTF-8", file=path.name)
        if start[:2] == b"PK":
            raise InputError("file", "a zip archive", "a CSV text file, or an XLSX file named .xlsx", file=path.name)
    with path.open("rb") as raw:
        lines = _lines(raw, path.name)
        first = next(lines, None)
        if first is None:
            return
        yield from _records(chain((first,), lines), _delimiter(first), path.name)


def _records(lines: Iterator[str], delimiter: str, file: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    while True:
        number = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise InputError("row", str(error), "plain CSV with balanced quotes", file=file, row=number) from None
        if cells is None:
            return
        yield number, cells


def _lines(raw: IO[bytes], file: str) -> Iterator[str]:
    number = 0
    while line := raw.readline(LONGEST_LINE):
        number += 1
        if len(line) == LONGEST_LINE and not line.endswith(b"\n"):
            raise InputError("row", f"more than {LONGEST_LINE} bytes", "shorter rows", file=file, row=number)
        if b"\r" in line.rstrip(b"\r\n"):
            raise InputError("row", "a line end of CR alone", "lines that end with LF or CR LF", file=file, row=number)
        if b"\0" in line:
            raise InputError("row", "a NUL byte", "plain text in UTF-8", file=file, row=number)
        try:
            yield line.decode("utf-8-sig" if number == 1 else "utf-8")
        except UnicodeDecodeError as error:
            bad = f"byte 0x{line[error.start]:02x} at position {error.start + 1}"
            raise InputError("encoding", bad, "UTF-8", file=file, row=number) from None


def _delimiter(header: str) -> str:
    counts = {mark: header.count(mark) for mark in (",", ";", "\t")}
    return max(counts, key=lambda mark: counts[mark])


def _xlsx_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    from isohume.bench.reading.worksheet import worksheet_rows

    yield from worksheet_rows(path)

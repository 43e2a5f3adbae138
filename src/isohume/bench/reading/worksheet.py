"""The first worksheet of an XLSX file as rows of text; formulas and merged cells are refused with their place.

A formula shows a number that nobody read from an instrument, and a merged cell leaves its neighbours empty: both
would have to be guessed at. The workbook is looked through as a stream before any of it is loaded, so that a small
file that unpacks into a huge table is refused, not met.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from pathlib import Path
from posixpath import join, normpath
from xml.etree import ElementTree

from isohume.foundation.quantity.errors import InputError

MOST_UNPACKED_BYTES = 50_000_000
LAST_ROW, LAST_COLUMN = 110_000, 400
"""Where a filled cell may stand at most: beyond the rows and columns that are read, so that those refuse first."""
_CELL = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    ElementTree.ParseError,
    OSError,
    EOFError,
    LookupError,
    ValueError,
    RuntimeError,
)


def worksheet_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    """The rows of the first worksheet, numbered as the spreadsheet numbers them.

    path: an XLSX file [text].
    Returns: an iterator of (row number, cells as text) [text].
    Raises: InputError for a file that is no workbook, formulas, merged cells, and files that unpack beyond 50 MB.
    Source: none.
    """
    _refuse_what_must_be_guessed(path)
    start, rows = _loaded(path)
    for offset, cells in enumerate(rows):
        yield offset + start + 1, [_text(cell) for cell in cells]


def _loaded(path: Path) -> tuple[int, Iterable[Iterable[object]]]:
    from python_calamine import CalamineError, CalamineWorkbook, WorksheetNotFound

    try:
        sheet = CalamineWorkbook.from_path(str(path)).get_sheet_by_index(0)
    except (CalamineError, WorksheetNotFound, OSError, ValueError) as error:
        raise _unreadable(path, error) from None
    return sheet.start[0] if sheet.start else 0, sheet.iter_rows()


def _refuse_what_must_be_guessed(path: Path) -> None:
    try:
        with zipfile.ZipFile(path) as archive:
            if sum(info.file_size for info in archive.infolist()) > MOST_UNPACKED_BYTES:
                allowed = f"a workbook of at most {MOST_UNPACKED_BYTES // 1_000_000} MB unpacked"
                raise InputError("file", "a larger one", allowed, file=path.name)
            sheet = _first_sheet(archive)
            if sheet is None:
                raise InputError("file", "no worksheet", "a workbook with a worksheet", file=path.name)
            with archive.open(sheet) as stream:
                _look_through(ElementTree.iterparse(stream, events=("start", "end")), path.name)
    except InputError:
        raise
    except _BROKEN as error:
        raise _unreadable(path, error) from None


def _unreadable(path: Path, error: Exception) -> InputError:
    return InputError("file", str(error)[:60] or type(error).__name__, "a readable XLSX workbook", file=path.name)


def _first_sheet(archive: zipfile.ZipFile) -> str | None:
    """The file of the sheet that stands first in the workbook, whatever its number."""
    names = set(archive.namelist())
    if "xl/workbook.xml" not in names:
        return None
    targets = {}
    for element in ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels")):
        targets[element.get("Id")] = element.get("Target", "")
    for element in ElementTree.fromstring(archive.read("xl/workbook.xml")).iter():
        if _name(element) == "sheet":
            key = next((value for name, value in element.items() if name.endswith("}id")), None)
            target = normpath(join("/xl", targets.get(key, ""))).lstrip("/")
            return target if target in names else None
    return None


def _look_through(events: Iterator[tuple[str, ElementTree.Element]], file: str) -> None:
    row = column = 0
    for event, element in events:
        name = _name(element)
        if event == "start":
            if name == "row":
                row, column = int(element.get("r") or row + 1), 0
            elif name == "c":
                row, column = _place(element.get("r"), row, column + 1)
            elif name == "mergeCell":
                merged = element.get("ref", "cells")
                raise InputError("cells", f"{merged} merged", "single cells (unmerge them)", file=file)
        elif name == "f":
            raise InputError(
                "cells", f"a formula in {_letters(column)}{row}", "typed values (paste as values)", file=file
            )
        elif name in ("v", "is") and (row > LAST_ROW or column > LAST_COLUMN):
            allowed = f"a table within {LAST_ROW} rows and {LAST_COLUMN} columns"
            raise InputError("cells", f"a value in {_letters(column)}{row}", allowed, file=file)
        elif name == "row":
            element.clear()


def _name(element: ElementTree.Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _place(reference: str | None, row: int, column: int) -> tuple[int, int]:
    found = _CELL.fullmatch(reference or "")
    if found is None:
        return row, column
    column = 0
    for letter in found.group(1):
        column = 26 * column + ord(letter) - ord("A") + 1
    return int(found.group(2)), column


def _letters(column: int) -> str:
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _text(cell: object) -> str:
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return repr(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, (datetime, date)):
        return cell.isoformat()
    return str(cell)

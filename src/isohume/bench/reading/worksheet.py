"""The first worksheet of an XLSX file as rows of text; formulas and merged cells are refused with their place.

A formula shows a number that nobody read from an instrument, and a merged cell leaves its neighbours empty: both
would have to be guessed at.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

from isohume.foundation.quantity.errors import InputError

MOST_UNPACKED_BYTES = 200_000_000
_FORMULA = re.compile(rb'<c r="([A-Z]+[0-9]+)"[^>]*>\s*<f[ >/]')
_MERGED = re.compile(rb'<mergeCell ref="([A-Z0-9:]+)"')


def worksheet_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    """The rows of the first worksheet, numbered as the spreadsheet numbers them.

    path: an XLSX file [text].
    Returns: an iterator of (row number, cells as text) [text].
    Raises: InputError for a file that is no workbook, formulas, merged cells, and files that unpack beyond 200 MB.
    Source: none.
    """
    from python_calamine import CalamineError, CalamineWorkbook, WorksheetNotFound

    _refuse_what_must_be_guessed(path)
    try:
        sheet = CalamineWorkbook.from_path(str(path)).get_sheet_by_index(0)
    except (CalamineError, WorksheetNotFound, OSError) as error:
        raise InputError("file", str(error)[:60], "a readable XLSX workbook", file=path.name) from None
    start = sheet.start[0] if sheet.start else 0
    for offset, cells in enumerate(sheet.iter_rows()):
        number = offset + 1 if sheet.start is None else offset + start + 1
        yield number, [_text(cell) for cell in cells]


def _refuse_what_must_be_guessed(path: Path) -> None:
    try:
        with zipfile.ZipFile(path) as archive:
            sheets = sorted(n for n in archive.namelist() if re.fullmatch(r"xl/worksheets/sheet\d+\.xml", n))
            if sum(info.file_size for info in archive.infolist()) > MOST_UNPACKED_BYTES:
                raise InputError("file", "over 200 MB unpacked", "a smaller workbook", file=path.name)
            if not sheets:
                raise InputError("file", "no worksheet", "a workbook with a worksheet", file=path.name)
            text = archive.read(sheets[0])
    except (zipfile.BadZipFile, OSError) as error:
        raise InputError("file", str(error)[:60], "a readable XLSX workbook", file=path.name) from None
    if merged := _MERGED.search(text):
        cells = merged.group(1).decode()
        raise InputError("cells", f"{cells} merged", "single cells (unmerge them)", file=path.name)
    if formula := _FORMULA.search(text):
        cell = formula.group(1).decode()
        raise InputError("cells", f"a formula in {cell}", "typed values (paste as values)", file=path.name)


def _text(cell: object) -> str:
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return repr(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, (datetime, date)):
        return cell.isoformat()
    return str(cell)

"""The columns of spreadsheets that history is brought from."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError

COLUMNS = {
    "checks": ("date", "instrument", "reference", "expected_a_w", "a_w", "temperature_c"),
    "lots": ("date", "product", "component", "lot", "a_w", "second_a_w", "temperature_c"),
}
REQUIRED = {
    "checks": ("date", "reference", "expected_a_w", "a_w"),
    "lots": ("date", "lot", "a_w"),
}
SUFFIXES = (".csv", ".txt", ".tsv", ".xlsx")
MOST_ROWS = 5000
LARGEST_BYTES = 2_000_000  # a form carries them along


def rows_of(kind: str, name: str, content: bytes, mapping: Mapping[str, str]) -> list[Row]:
    """The rows of an uploaded spreadsheet, its columns by our names.

    Raises: InputError at `columns` for one that is missing, at `file` for everything else that is wrong with it.
    """
    rows = _read(name, content, REQUIRED[kind], dict(mapping), COLUMNS[kind])
    if len(rows) > MOST_ROWS:
        raise InputError("file", f"{len(rows)} rows", f"at most {MOST_ROWS} rows at once")
    return rows


def headings_of(name: str, content: bytes) -> list[str]:
    """How its columns are called, in their order."""
    return [heading for heading in _read(name, content, (), {}, ())[0].cells if heading]


def _read(
    name: str, content: bytes, required: tuple[str, ...], mapping: dict[str, str], known: tuple[str, ...]
) -> list[Row]:
    suffix = Path(name).suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError("file", name or "nothing", f"a file named {', '.join(SUFFIXES)}")
    if not 0 < len(content) <= LARGEST_BYTES:
        raise InputError("file", f"{len(content)} bytes", f"1 to {LARGEST_BYTES} bytes")
    with tempfile.TemporaryDirectory(prefix="isohume-history-") as folder:
        path = Path(folder) / f"uploaded{suffix}"
        path.write_bytes(content)
        try:
            return list(read_rows(path, required, mapping, known))
        except InputError as error:
            if error.field == "columns":
                raise
            place = "" if error.row is None else f"row {error.row}: "
            what = "" if error.field == "file" else f"{error.field}: "
            raise InputError("file", str(error.value), f"{place}{what}{error.allowed}") from None

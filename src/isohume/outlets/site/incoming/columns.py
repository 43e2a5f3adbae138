"""The columns of spreadsheets that history is brought from."""

from __future__ import annotations

from collections.abc import Mapping

from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.config.upload import as_table_file, at_file

COLUMNS = {
    "checks": ("date", "instrument", "reference", "expected_a_w", "a_w", "temperature_c"),
    "lots": ("date", "product", "component", "lot", "a_w", "second_a_w", "temperature_c"),
}
REQUIRED = {
    "checks": ("date", "reference", "expected_a_w", "a_w"),
    "lots": ("date", "lot", "a_w"),
}
MOST_ROWS = 5000


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
    with as_table_file(name, content) as path:
        try:
            return list(read_rows(path, required, mapping, known))
        except InputError as error:
            if error.field == "columns":
                raise
            raise at_file(error) from None

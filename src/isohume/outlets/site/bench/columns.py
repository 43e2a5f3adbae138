"""The columns that runs are imported from, and one row of them as text."""

from __future__ import annotations

from collections.abc import Mapping

from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.config.upload import as_table_file

COLUMNS = (
    "lot", "sample", "position", "portion", "component", "a_w", "read_at", "sample_temperature_c",
    "block_temperature_c", "run", "instrument", "override_reason",
)  # fmt: skip
REQUIRED = ("portion", "a_w", "read_at")
MOST_ROWS = 500


def rows_of(name: str, content: bytes, mapping: Mapping[str, str], required: tuple[str, ...] = REQUIRED) -> list[Row]:
    """The rows of an uploaded file.

    Raises: InputError naming file, row and column for anything that would have to be guessed.
    """
    rows = _read(name, content, required, dict(mapping), COLUMNS)
    if len(rows) > MOST_ROWS:
        raise InputError("file", f"{len(rows)} rows", f"at most {MOST_ROWS} rows at once", file=name)
    return rows


def headings_of(name: str, content: bytes) -> list[str]:
    """How the columns of an uploaded file are called, in their order."""
    return [heading for heading in _read(name, content, (), {}, ())[0].cells if heading]


def _read(
    name: str, content: bytes, required: tuple[str, ...], mapping: dict[str, str], known: tuple[str, ...]
) -> list[Row]:
    with as_table_file(name, content) as path:
        try:
            return list(read_rows(path, required, mapping, known))
        except InputError as error:
            raise error.at(file=name) from None

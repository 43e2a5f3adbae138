"""The columns that runs are imported from, and one row of them as text."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError

COLUMNS = (
    "lot", "sample", "position", "portion", "component", "a_w", "read_at", "sample_temperature_c",
    "block_temperature_c", "run", "instrument", "override_reason",
)  # fmt: skip
REQUIRED = ("portion", "a_w", "read_at")
SUFFIXES = (".csv", ".txt", ".tsv", ".xlsx")
MOST_ROWS = 500
LARGEST_BYTES = 2_000_000


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
    suffix = Path(name).suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError("file", name or "nothing", f"a file named {', '.join(SUFFIXES)}")
    if not 0 < len(content) <= LARGEST_BYTES:
        raise InputError("file", f"{len(content)} bytes", f"1 to {LARGEST_BYTES} bytes")
    with tempfile.TemporaryDirectory(prefix="isohume-import-") as folder:
        path = Path(folder) / f"uploaded{suffix}"
        path.write_bytes(content)
        try:
            return list(read_rows(path, required, mapping, known))
        except InputError as error:
            raise error.at(file=name) from None

"""The readings of a record for a spreadsheet: CSV in which no text can start a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from isohume.outlets.paper.atomic_file import safe_name, write_whole
from isohume.outlets.paper.record_fields import check_schema, items, need

COLUMNS = (
    "record", "lot", "row", "run", "portion", "position", "component", "a_w", "read_at",
    "sample_temperature_c", "block_temperature_c", "use", "reasons",
)  # fmt: skip
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
PLAIN_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")


def readings_csv(record: Mapping[str, Any]) -> str:
    """The readings of a record as CSV text, every run in the order read, one header row.

    record: the frozen record, schema isohume.record/1 [dict].
    Returns: CSV, commas, lines ended by CR LF [text]; a text that a spreadsheet would take for a formula
        starts with an apostrophe, numbers stay numbers.
    Raises: InputError where the record has no id or lot, or another schema.
    """
    check_schema(record)
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    columns = _columns(record)
    writer.writerow(columns)
    first = (need(record, "id"), need(record, "lot", "id"))
    for r in items(record, "readings"):
        middle = [r.get(column) for column in columns[2:-1]]
        row = (*first, *middle, " ".join(map(str, r.get("reasons") or [])))
        writer.writerow([neutral(cell) for cell in row])
    return out.getvalue()


def _columns(record: Mapping[str, Any]) -> tuple[str, ...]:
    """The columns, with those that only some records have where this one has them."""
    at = COLUMNS.index("a_w") + 1
    ended = any(r.get("stopped") for r in items(record, "readings"))
    corrected = ("corrected_a_w",) if record.get("correction") else ()
    return (*COLUMNS[:at], *corrected, *(("stopped", "u_estimate") if ended else ()), *COLUMNS[at:])


def neutral(cell: object) -> str:
    """A cell that no spreadsheet takes for a formula; nothing becomes an empty cell."""
    if cell is None:
        return ""
    text = str(cell)
    if text.startswith(STARTS_A_FORMULA) and not PLAIN_NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def write_readings(record: Mapping[str, Any], folder: Path) -> Path:
    """Write the readings of a record to a folder as CSV named by the record's id, whole or not at all."""
    name = safe_name(str(need(record, "id")))
    return write_whole(Path(folder) / f"{name}-readings.csv", readings_csv(record).encode())

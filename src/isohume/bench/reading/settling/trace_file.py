"""A trace from a file: CSV or XLSX, one row a reading."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import numpy as np

from isohume.bench.reading.remarks import Remarks
from isohume.bench.reading.settling.trace import Array, Trace, trace_of
from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c

REQUIRED = ("elapsed_s", "a_w")
OPTIONAL = ("sample_temperature_c", "block_temperature_c", "room_humidity")
LONGEST_S = Decimal(14 * 24 * 3600)
HIGHEST_SHOWN = Decimal("1.05")


def read_trace(path: Path, mapping: dict[str, str] | None = None, notes: list[str] | None = None) -> Trace:
    """The trace in a file.

        one row a reading, in time order
    path: CSV or XLSX [text] with elapsed_s and a_w, and optionally sample_temperature_c, block_temperature_c and
        room_humidity (a fraction).
    mapping: our column name -> the file's [text].
    notes: collects remarks such as a decimal comma read as a point [text].
    Returns: the Trace [1].
    Raises: InputError naming file, row, field, value and what is allowed.
    Source: none.
    """
    rows: list[tuple[Decimal, Decimal, list[float]]] = []
    remarks = Remarks(path.name)
    for row in read_rows(path, REQUIRED, mapping, (*REQUIRED, *OPTIONAL)):
        try:
            said: list[str] = []
            rows.append(_reading(row, rows[-1][0] if rows else None, said))
        except InputError as error:
            raise error.at(row=row.number, file=path.name) from None
        remarks.add(row.number, said)
    if notes is not None:
        notes.extend(remarks.lines())
    if not rows:
        raise InputError("file", path.name, "a header row and at least one reading")
    others = np.array([row[2] for row in rows])
    times: Array = np.array([float(row[0]) for row in rows])
    return trace_of(times, [row[1] for row in rows], others[:, 0], others[:, 1], others[:, 2])


def _reading(row: Row, before: Decimal | None, notes: list[str]) -> tuple[Decimal, Decimal, list[float]]:
    allowed = "seconds since the run began, 0 to 1209600"
    elapsed = read_decimal(row.get("elapsed_s"), "elapsed_s", allowed)
    if not 0 <= elapsed <= LONGEST_S:
        raise InputError("elapsed_s", row.get("elapsed_s"), allowed)
    if before is not None and elapsed <= before:
        raise InputError("elapsed_s", row.get("elapsed_s"), f"more than {before}, the time of the reading before")
    a_w = _shown(row.get("a_w"), notes)
    return elapsed, a_w, [_temperature(row, name) for name in OPTIONAL[:2]] + [_humidity(row)]


def _shown(text: str, notes: list[str]) -> Decimal:
    """What an instrument shows on the way: a dry chamber may begin at 0, and a wet one show a little more than 1."""
    shown = read_decimal(text, "a_w", "a water activity as a fraction, 0 to 1.05", notes, thousands_possible=False)
    return shown if 0 <= shown <= HIGHEST_SHOWN else read_a_w(text)


def _temperature(row: Row, field: str) -> float:
    text = row.get(field)
    return float(read_temperature_c(text, field)) if text else float("nan")


def _humidity(row: Row) -> float:
    text, allowed = row.get("room_humidity"), "the room's relative humidity as a fraction, 0 to 1"
    if not text:
        return float("nan")
    humidity = read_decimal(text, "room_humidity", allowed)
    if not 0 <= humidity <= 1:
        raise InputError("room_humidity", text, allowed)
    return float(humidity)

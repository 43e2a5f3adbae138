"""Readings of reference solutions from a file: columns solution, molality, temperature_c, a_w, read_at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

from isohume.bench.reading.remarks import Remarks
from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c, read_time, read_words

REQUIRED = ("solution", "temperature_c", "a_w")
COLUMNS = ("solution", "molality", "temperature_c", "a_w", "read_at", "lot", "instrument")
LONGEST_SOLUTION = 100
CLOCK_TOLERANCE = timedelta(minutes=5)
BENCH_LOW_C, BENCH_HIGH_C = Decimal(0), Decimal(60)


@dataclass(frozen=True, slots=True)
class ReferenceReading:
    """One reading of a reference solution as typed."""

    solution: str
    molality: Decimal | None
    temperature_c: Decimal
    a_w: Decimal
    read_at: datetime | None
    lot: str
    row: int
    instrument: str = ""


def read_check_file(
    path: Path, now: datetime, mapping: dict[str, str] | None = None, notes: list[str] | None = None
) -> Iterator[ReferenceReading]:
    """The readings of a check file, one at a time.

    path: CSV or XLSX file [text] with columns solution, molality, temperature_c, a_w, read_at and, optionally, lot and
        instrument.
    now: the moment of reading, against which the future is refused [time].
    mapping: our column name -> the file's [text].
    notes: collects remarks such as a decimal comma read as a point [text].
    Returns: an iterator of ReferenceReading [text]; an empty molality means saturated.
    Raises: InputError naming file, row, field, value and what is allowed.
    Source: none.
    """
    remarks = Remarks(path.name)
    for row in read_rows(path, REQUIRED, mapping, COLUMNS):
        said: list[str] = []
        try:
            yield _reading(row, now, said)
        except InputError as error:
            raise error.at(row=row.number, file=path.name) from None
        remarks.add(row.number, said)
    if notes is not None:
        notes.extend(remarks.lines())


def _reading(row: Row, now: datetime, notes: list[str]) -> ReferenceReading:
    solution = read_words(row.get("solution"), "solution", LONGEST_SOLUTION)
    if not solution:
        raise InputError("solution", "", "the formula or name of a reference solution")
    molality = row.get("molality")
    at = row.get("read_at")
    return ReferenceReading(
        solution=solution,
        molality=_molality(molality, notes) if molality else None,
        temperature_c=read_temperature_c(row.get("temperature_c"), notes=notes, low=BENCH_LOW_C, high=BENCH_HIGH_C),
        a_w=read_a_w(row.get("a_w"), notes=notes),
        read_at=not_in_future(read_time(at, "read_at", notes), "read_at", now) if at else None,
        lot=read_words(row.get("lot"), "lot"),
        row=row.number,
        instrument=read_words(row.get("instrument"), "instrument"),
    )


def _molality(text: str, notes: list[str]) -> Decimal:
    allowed = "mol per kg of water, greater than 0; empty for saturated"
    # No solution holds a thousand moles per kilogram: 1,000 can only be 1.000.
    molality = read_decimal(text, "molality", allowed, notes, thousands_possible=False)
    if molality <= 0:
        raise InputError("molality", text, allowed)
    return molality


def not_in_future(moment: datetime, field: str, now: datetime) -> datetime:
    """The moment itself, refused where it lies more than five minutes after `now`.

    moment: a moment with its offset [time].
    field: the field's name for the error [text].
    now: the clock of this machine [time].
    Returns: the moment [time].
    Raises: InputError for a moment in the future.
    Source: none.
    """
    if moment > now + CLOCK_TOLERANCE:
        raise InputError(field, moment.isoformat(), f"a moment not after now ({now.isoformat(timespec='minutes')})")
    return moment

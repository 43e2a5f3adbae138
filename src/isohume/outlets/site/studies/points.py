"""The points of a study: rows as typed, read by the rules of the command line, grouped into what is fitted together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from isohume.bench.reading.tables import Row
from isohume.foundation.quantity.errors import InputError, shown
from isohume.product.sorption.point_file import PointRecord, read_point_rows

SAME_TEMPERATURE_C = 1.0
"""Points whose temperatures lie within it are one isotherm, called by their mean (by trial, no source)."""
FEWEST = 3
Cells = dict[str, str]


@dataclass(frozen=True, slots=True)
class PointRead:
    """One row as it would be taken, or why not."""

    row: int
    cells: Cells
    record: PointRecord | None
    refused: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PointSet:
    """Points of one direction at one temperature."""

    direction: str
    temperature_c: str
    records: tuple[PointRecord, ...]


class PointsRefused(InputError):  # noqa: N818 - it is an answer, not a fault
    """Rows of the file that cannot be taken; nothing was saved."""

    def __init__(self, rows: Iterable[PointRead]) -> None:
        self.rows = tuple(rows)
        bad = [row for row in self.rows if row.refused]
        many = f"{len(bad)} of {len(self.rows)} rows are refused"
        first = f"{bad[0].refused[0]}" if bad else ""
        super().__init__("file", many, f"points that hold what their column says; the first one: {first}")


def cells_of(rows: Sequence[Row], columns: Mapping[str, str]) -> list[tuple[int, Cells]]:
    """Row number and cells by our names, as typed."""
    return [(row.number, {ours: row.get(theirs) for ours, theirs in columns.items()}) for row in rows]


def read_points(numbered: Sequence[tuple[int, Cells]], columns: Mapping[str, str]) -> list[PointRead]:
    """Every row by itself, so that each that is wrong says so: row, the file's own column, what was read, allowed."""
    return [_read(number, cells, columns) for number, cells in numbered]


def _read(number: int, cells: Cells, columns: Mapping[str, str]) -> PointRead:
    try:
        (record,) = read_point_rows([(number, cells)]).records
    except InputError as error:
        heading = columns.get(error.field, error.field)
        said = f"Row {number}, column {shown(heading)}: read {shown(error.value)}; allowed: {error.allowed}."
        return PointRead(number, cells, None, (said,))
    return PointRead(number, cells, record)


def checked(numbered: Sequence[tuple[int, Cells]], columns: Mapping[str, str]) -> tuple[list[PointRead], list[str]]:
    """All rows, and what has to be said about them together.

    Raises: PointsRefused where one of them cannot be taken; InputError for a column blank in some rows only.
    """
    read = read_points(numbered, columns)
    if any(row.refused for row in read):
        raise PointsRefused(read)
    try:
        table = read_point_rows(list(numbered))
    except InputError as error:
        where = f"row {error.row}: " if error.row is not None else ""
        raise InputError("file", str(error.value) or "a blank", f"{where}{error.field}: {error.allowed}") from None
    return read, list(table.cautions)


def sets_of(records: Iterable[PointRecord], direction: str, temperature_c: str) -> list[PointSet]:
    """What is fitted together: each direction at each temperature, adsorption first, cold before warm.

    direction, temperature_c: of all points, for those that do not say their own.
    """
    listed = list(records)
    typed = float(temperature_c) if temperature_c else None
    found: list[PointSet] = []
    for branch in ("adsorption", "desorption"):
        own = [record for record in listed if (record.direction or direction) == branch]
        found += [PointSet(branch, _name(group, typed), tuple(group)) for group in _by_temperature(own, typed)]
    return found


def _temperature(record: PointRecord, typed: float | None) -> float:
    own = record.temperature_c if record.temperature_c is not None else typed
    if own is None:
        raise InputError("temperature_c", "nothing", "the temperature of the points, or a column that says it")
    return own


def _by_temperature(records: list[PointRecord], typed: float | None) -> list[list[PointRecord]]:
    groups: list[list[PointRecord]] = []
    for record in sorted(records, key=lambda one: _temperature(one, typed)):
        begun = _temperature(groups[-1][0], typed) if groups else None
        if begun is not None and _temperature(record, typed) - begun <= SAME_TEMPERATURE_C:
            groups[-1].append(record)
        else:
            groups.append([record])
    return [sorted(group, key=lambda one: one.row) for group in groups]


def _name(group: list[PointRecord], typed: float | None) -> str:
    return f"{sum(_temperature(record, typed) for record in group) / len(group):.1f}"

"""Points of an isotherm from the rows of a table, in whatever basis they were written down in.

One column says moisture, and its name says the basis: moisture_db, moisture_wb, moisture_db_percent or
moisture_wb_percent. u_moisture has the unit and the basis of that column; on wet basis it is carried over to dry basis
with the derivative of the conversion, u(X) = u(w) / (1 - w)^2. Which cells a file holds is read elsewhere (CSV and
XLSX alike); here a row is its number and its cells by column name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.moisture import dry_from_wet
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c

DIRECTIONS = ("adsorption", "desorption")
MOISTURE_COLUMNS = ("moisture_db", "moisture_wb", "moisture_db_percent", "moisture_wb_percent")
OPTIONAL = ("temperature_c", "direction", "u_a_w", "u_moisture")
COLUMNS = ("a_w", *MOISTURE_COLUMNS, *OPTIONAL)
MOST_DB = Decimal(10)
"""kg of water per kg of dry solids: near it stand fresh fruit and gels; a percentage in a column of fractions lies
beyond it."""
MUCH_DB, DRY_A_W = 1.0, 0.6
"""A moisture above the first at an a_w below the second is rare enough to ask whether percent was meant."""
LITTLE_PERCENT = Decimal(1)


@dataclass(frozen=True, slots=True)
class PointRecord:
    """One point as a row of a file says it, on dry basis; None where the file does not say."""

    row: int
    a_w: float
    moisture_db: float
    u_a_w: float | None = None
    u_moisture: float | None = None
    temperature_c: float | None = None
    direction: str | None = None


@dataclass(frozen=True, slots=True)
class PointTable:
    """The points of a file, the column their moisture stood in, and what has to be said about them."""

    records: tuple[PointRecord, ...]
    moisture_column: str
    cautions: tuple[str, ...] = ()


def read_point_rows(
    rows: Iterable[tuple[int, Mapping[str, str]]], notes: dict[int, list[str]] | None = None
) -> PointTable:
    """The points of a table's rows.

        X = w / (1 - w), u(X) = u(w) / (1 - w)^2 where the moisture is on wet basis
    rows: row number and cells by column name [text]: a_w, exactly one moisture column, and where they are there
        temperature_c, direction, u_a_w, u_moisture.
    notes: row number -> remarks such as a decimal comma read as a point [text]; filled where it is given.
    Returns: the PointTable [text], moisture on dry basis.
    Raises: InputError naming row, field, value and what is allowed.
    Beyond: a percentage where a fraction belongs is asked about, never divided; a column that is blank in some rows
        only is refused.
    Source: none (definition).
    """
    numbered = list(rows)
    columns = dict.fromkeys(name for _, cells in numbered for name in cells if name)
    column = _moisture_column(columns)
    records = []
    for number, cells in numbered:
        said: list[str] = []
        try:
            records.append(_record(number, cells, column, said))
        except InputError as error:
            raise error.at(row=number) from None
        if notes is not None and said:
            notes[number] = said
    if not records:
        raise InputError("rows", "none", "at least one point")
    for name in OPTIONAL:
        _all_or_none(records, name)
    return PointTable(tuple(records), column, tuple(_cautions(records, numbered, column)))


def _moisture_column(columns: Iterable[str]) -> str:
    listed = list(columns)
    if "a_w" not in listed:
        raise InputError("columns", ", ".join(listed) or "none", "a column 'a_w'", row=1)
    there = [name for name in listed if name in MOISTURE_COLUMNS]
    if len(there) != 1:
        read = ", ".join(there) or ", ".join(listed)
        raise InputError("columns", read, f"exactly one of {', '.join(MOISTURE_COLUMNS)}", row=1)
    return there[0]


def _record(number: int, cells: Mapping[str, str], column: str, notes: list[str]) -> PointRecord:
    def text(name: str) -> str:
        return cells.get(name, "").strip()

    moisture, by_column = _moisture(text(column), column, notes)
    temperature = text("temperature_c")
    return PointRecord(
        row=number,
        a_w=float(_a_w(text("a_w"), notes)),
        moisture_db=moisture,
        u_a_w=_u_a_w(text("u_a_w"), notes),
        u_moisture=_u_moisture(text("u_moisture"), by_column, column, notes),
        temperature_c=float(read_temperature_c(temperature, notes=notes)) if temperature else None,
        direction=_direction(text("direction")),
    )


def _a_w(text: str, notes: list[str]) -> Decimal:
    if text.strip("0.,") == "" and text.strip():
        raise InputError("a_w", text, "a fraction greater than 0: leave the dry start out, no equation speaks of it")
    a_w = read_a_w(text, notes=notes)
    if a_w == 1:
        raise InputError("a_w", text, "a fraction greater than 0 and below 1: at 1 no isotherm holds")
    return a_w


def _moisture(text: str, column: str, notes: list[str]) -> tuple[float, float]:
    """Moisture on dry basis, and its derivative by the number in the column."""
    percent, wet = column.endswith("_percent"), "_wb" in column
    allowed = _allowed(percent, wet)
    # no moisture reaches a thousand in any of the units: 1,234 can only be 1.234
    number = read_decimal(text, column, allowed, notes, thousands_possible=False)
    unit = Decimal(100) if percent else Decimal(1)
    if not 0 < number < unit * (1 if wet else MOST_DB):
        meant = f"; was percent meant (column {column}_percent)?" if not percent and 1 <= number <= 1000 else ""
        raise InputError(column, text, allowed + meant)
    fraction = float(number / unit)
    if not wet:
        return fraction, 1.0 / float(unit)
    return float(dry_from_wet(fraction)), 1.0 / (1.0 - fraction) ** 2 / float(unit)


def _allowed(percent: bool, wet: bool) -> str:
    most = (100 if percent else 1) if wet else MOST_DB * (100 if percent else 1)
    unit = ("g of water per 100 g" if percent else "kg of water per kg") + (" as is" if wet else " of dry solids")
    return f"{unit}, greater than 0 and below {most}"


def _u_a_w(text: str, notes: list[str]) -> float | None:
    if not text:
        return None
    allowed = "a standard uncertainty in a_w, greater than 0 and below 1"
    number = read_decimal(text, "u_a_w", allowed, notes, thousands_possible=False)
    if not 0 < number < 1:
        raise InputError("u_a_w", text, allowed)
    return float(number)


def _u_moisture(text: str, by_column: float, column: str, notes: list[str]) -> float | None:
    if not text:
        return None
    allowed = f"a standard uncertainty in the unit and basis of {column}, greater than 0"
    number = read_decimal(text, "u_moisture", allowed, notes, thousands_possible=False)
    if number <= 0:
        raise InputError("u_moisture", text, allowed)
    return float(number) * by_column


def _direction(text: str) -> str | None:
    if not text:
        return None
    if text.casefold() not in DIRECTIONS:
        raise InputError("direction", text, " or ".join(DIRECTIONS))
    return text.casefold()


def _all_or_none(records: list[PointRecord], name: str) -> None:
    blank = [record.row for record in records if getattr(record, name) is None]
    if blank and len(blank) < len(records):
        raise InputError(name, "", "a value in every row, or in none (it is blank here)", row=blank[0])


def _cautions(records: list[PointRecord], rows: list[tuple[int, Mapping[str, str]]], column: str) -> Iterable[str]:
    wettest = next((r for r in records if r.moisture_db > MUCH_DB and r.a_w < DRY_A_W), None)
    if wettest is not None:
        asked = "" if column.endswith("_percent") else f" Was percent meant (column {column}_percent)?"
        yield f"row {wettest.row}: {wettest.moisture_db:.3g} kg/kg dry basis at a_w {wettest.a_w:g} is rare.{asked}"
    if column.endswith("_percent") and all(_below(cells.get(column, ""), LITTLE_PERCENT) for _, cells in rows):
        fraction = column.removesuffix("_percent")
        yield f"every moisture is below {LITTLE_PERCENT} %: was a fraction meant (column {fraction})?"


def _below(text: str, limit: Decimal) -> bool:
    return read_decimal(text, "moisture", thousands_possible=False) < limit

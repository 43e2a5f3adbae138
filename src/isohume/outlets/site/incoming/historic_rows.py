"""Rows of a spreadsheet read one by one, so that each that is wrong says so; nothing is guessed, nothing is saved."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from isohume.bench.reading.tables import Row
from isohume.foundation.quantity.errors import InputError, shown
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c, read_words
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.incoming.figures import short
from isohume.outlets.site.incoming.models import HistoricCheck, HistoricLot
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument, Product

Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class RowRead:
    """One row as it would be kept, or why not."""

    row: int
    cells: dict[str, str]
    values: Values = field(default_factory=dict)
    refused: str = ""


class RowReader:
    """Reads the rows of one file against the register of its plant."""

    def __init__(self, site: Site, now: datetime, instrument: Instrument | None, product: Product | None) -> None:
        self._site, self._today = site, plant_day(now, site)
        self._instrument, self._product = instrument, product
        self._instruments = {one.name.casefold(): one for one in Instrument.objects.filter(site=site)}
        self._products = {one.name.casefold(): one for one in Product.objects.filter(site=site)}

    def read(self, kind: str, rows: Iterable[Row]) -> list[RowRead]:
        """Every row; what stands in another file already is refused, row by row."""
        how = self._check if kind == "checks" else self._lot
        known = _known_checks(self._site) if kind == "checks" else _known_lots(self._site)
        return [self._one(row, how, known) for row in rows]

    def _one(self, row: Row, how: Callable[[Row], Values], known: dict[tuple[Any, ...], str]) -> RowRead:
        try:
            values = how(row)
        except InputError as error:
            refused = f"{error.field}: read {shown(error.value)}; allowed: {error.allowed}"
            return RowRead(row.number, row.cells, refused=refused)
        before = known.get(_key(values))
        if before is not None:
            return RowRead(row.number, row.cells, values, f"the same row is in history already: {before}")
        return RowRead(row.number, row.cells, values)

    def _check(self, row: Row) -> Values:
        return {
            "instrument": self._named(row, "instrument", self._instrument, self._instruments),
            "on": self._day(row.get("date")),
            "reference": _needed(row, "reference", 80, "which reference solution was read"),
            "expected_a_w": _a_w(row, "expected_a_w"),
            "a_w": _a_w(row, "a_w"),
            "temperature_c": _temperature(row),
        }

    def _lot(self, row: Row) -> Values:
        product = self._named(row, "product", self._product, self._products)
        component = read_words(row.get("component"), "component", 60)
        if component and component not in product.components:
            raise InputError("component", component, " or ".join(product.components) or "nothing: it has no components")
        return {
            "product": product,
            "component": component,
            "on": self._day(row.get("date")),
            "code": _needed(row, "lot", 60, "the lot's code"),
            "a_w": _a_w(row, "a_w"),
            "second_a_w": _a_w(row, "second_a_w") if row.get("second_a_w") else "",
            "temperature_c": _temperature(row),
        }

    def _named(self, row: Row, column: str, chosen: Any, known: dict[str, Any]) -> Any:
        name = row.get(column)
        if not name and chosen is not None:
            return chosen
        found = known.get(name.casefold())
        if found is None:
            names = ", ".join(sorted(one.name for one in known.values())[:6]) or "nothing: the register has none yet"
            raise InputError(column, name or "nothing", f"one of the register: {names}")
        return found

    def _day(self, text: str) -> date:
        try:
            found = datetime.fromisoformat(text).date()  # a worksheet's day may carry a time
        except ValueError:
            raise InputError("date", text or "nothing", "a day such as 2026-03-31, year first") from None
        if found > self._today:
            raise InputError("date", text, f"a day not after today ({self._today.isoformat()})")
        return found


def _a_w(row: Row, column: str) -> str:
    return short(f"{read_a_w(row.get(column), column):f}", column)


def _temperature(row: Row) -> str:
    return short(f"{read_temperature_c(row.get('temperature_c')):f}", "temperature_c", 12) if _has(row) else ""


def _has(row: Row) -> bool:
    return bool(row.get("temperature_c"))


def _needed(row: Row, column: str, most: int, what: str) -> str:
    found = read_words(row.get(column), column, most)
    if not found:
        raise InputError(column, "nothing", what)
    return found


def _key(values: Values) -> tuple[Any, ...]:
    of = values["instrument"] if "instrument" in values else values["product"]
    rest = ("on", "reference", "expected_a_w", "a_w", "component", "code", "second_a_w")
    return (of.pk, *(values[name] for name in rest if name in values))


def _known_checks(site: Site) -> dict[tuple[Any, ...], str]:
    found = HistoricCheck.objects.filter(file__site=site).select_related("file")
    return {
        (one.instrument_id, one.on, one.reference, one.expected_a_w, one.a_w): f"{one.file.name}, row {one.row}"
        for one in found
    }


def _known_lots(site: Site) -> dict[tuple[Any, ...], str]:
    found = HistoricLot.objects.filter(file__site=site).select_related("file")
    return {
        (one.product_id, one.on, one.a_w, one.component, one.code, one.second_a_w): f"{one.file.name}, row {one.row}"
        for one in found
    }

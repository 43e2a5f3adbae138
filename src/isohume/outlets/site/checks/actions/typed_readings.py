"""Readings of reference solutions as typed at the bench, read exactly or refused at their field."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from isohume.bench.assurance import CheckReading
from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.checks.bottles import called
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Bottle

MOST_READINGS = 40


@dataclass(frozen=True, slots=True)
class TypedReading:
    """One reading: its bottle, the numbers with the digits as typed, its moment, and its row in the form."""

    bottle: Bottle
    temperature_c: str
    a_w: str
    read_at: datetime
    row: int

    def as_reading(self) -> CheckReading:
        """What the bench's own rule judges."""
        lot = self.bottle.solution_lot
        return CheckReading(
            solution=lot.solution,
            molality=float(lot.molality) if lot.molality else None,
            temperature_c=float(self.temperature_c),
            a_w=float(self.a_w),
            read_at=self.read_at,
            lot=called(self.bottle),
            row=self.row,
        )

    def details(self) -> dict[str, str]:
        """The reading as the ledger holds it."""
        return {
            "bottle": self.bottle.ref,
            "solution": str(self.bottle.solution_lot),
            "temperature_c": self.temperature_c,
            "a_w": self.a_w,
            "read_at": self.read_at.isoformat(),
        }


def read_readings(rows: Sequence[Mapping[str, Any]], site: Site, now: datetime) -> list[TypedReading]:
    """The readings of a form, blank rows left out.

    Raises: InputError at the row's field for what is missing, cannot be read, or lies in the future.
    """
    if len(rows) > MOST_READINGS:
        raise InputError("readings", f"{len(rows)} rows", f"at most {MOST_READINGS} readings a check")
    found = [_reading(row, n, site, now) for n, row in enumerate(rows, 1) if not _blank(row.values())]
    if not found:
        raise InputError("bottle_1", "nothing", "at least one reading of a reference solution")
    return found


def _blank(values: Iterable[Any]) -> bool:
    return not any(value.strip() if isinstance(value, str) else value is not None for value in values)


def _reading(row: Mapping[str, Any], n: int, site: Site, now: datetime) -> TypedReading:
    bottle = row.get("bottle")
    if not isinstance(bottle, Bottle):
        raise InputError(f"bottle_{n}", bottle or "nothing", "a bottle of a reference solution, scanned or picked")
    temperature_c = read_temperature_c(
        row.get("temperature_c", ""), f"temperature_c_{n}", low=BENCH_LOW_C, high=BENCH_HIGH_C
    )
    a_w = read_a_w(row.get("a_w", ""), f"a_w_{n}")
    read_at = event_time(row.get("read_at", ""), f"read_at_{n}", site, now)
    return TypedReading(bottle, str(temperature_c), str(a_w), read_at, n)

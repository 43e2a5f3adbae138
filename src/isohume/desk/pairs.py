"""The laboratory's own history of one product: a_w and moisture of the same sample, with their u and their time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from isohume.foundation.quantity.errors import InputError

_ALIKE_K = 1.0  # a_w of one sample moves less over this than between two readings


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs in the order of time; moisture on dry basis. Made by `pairs_of`, which checks them."""

    a_w: tuple[float, ...]
    moisture_db: tuple[float, ...]
    u_a_w: tuple[float, ...]
    u_moisture: tuple[float, ...]
    at: tuple[date | datetime, ...]
    lots: tuple[str, ...] = ()
    temperature_c: float | None = None
    product: str = ""
    formula_version: str = ""

    @property
    def count(self) -> int:
        """How many pairs there are."""
        return len(self.a_w)

    @property
    def days(self) -> tuple[float, ...]:
        """Days since the first pair."""
        first: Any = self.at[0]  # one kind, days or times: `pairs_of` could not have ordered them else
        return tuple((one - first) / timedelta(days=1) for one in self.at)

    def of(self, chosen: Sequence[int]) -> Pairs:
        """The pairs at some positions."""
        columns = ("a_w", "moisture_db", "u_a_w", "u_moisture", "at")
        picked: dict[str, Any] = {name: tuple(getattr(self, name)[i] for i in chosen) for name in columns}
        lots = tuple(self.lots[i] for i in chosen) if self.lots else ()
        return Pairs(**picked, lots=lots, temperature_c=self.temperature_c, product=self.product,
                     formula_version=self.formula_version)  # fmt: skip

    def name(self, i: int) -> str:
        """How one pair is called in a sentence: its lot, else its day."""
        day = f"{self.at[i]:%Y-%m-%d}"
        return f"{self.lots[i]} ({day})" if self.lots else day


def pairs_of(
    a_w: Sequence[float],
    moisture_db: Sequence[float],
    u_a_w: float | Sequence[float],
    u_moisture: float | Sequence[float],
    at: Sequence[date] | Sequence[datetime],
    *,
    lots: Sequence[str] = (),
    temperature_c: float | Sequence[float] | None = None,
    product: str = "",
    formula_version: str = "",
) -> Pairs:
    """Routine pairs of one product, checked and put in the order of time.

    a_w: water activities [1], above 0 to 1.
    moisture_db: moisture of the same samples on dry basis [kg/kg], above 0.
    u_a_w: standard uncertainty of the water activities [1], one for all or one a pair, greater than zero.
    u_moisture: standard uncertainty of the moistures [kg/kg], one for all or one a pair, greater than zero.
    at: day or time of each pair [date]; all with, or all without, a time zone.
    lots: what each sample is called [text]; may be left out.
    temperature_c: temperature of the a_w readings [degC], one for all or one a pair, within 1 K of each other.
    product: name of the product [text].
    formula_version: version of the recipe [text].
    Returns: Pairs.
    Raises: InputError for unequal lengths, a number that cannot be, or temperatures that differ.
    Source: none (a record).
    """
    n = len(a_w)
    columns = {"a_w": list(a_w), "moisture_db": list(moisture_db)}
    columns |= {"u_a_w": _all(u_a_w, n), "u_moisture": _all(u_moisture, n)}
    lengths = {name: len(column) for name, column in columns.items()} | {"at": len(at), "lots": len(lots) or n}
    for name, length in lengths.items():
        if length != n:
            raise InputError(name, f"{length} values", f"{n}, one a pair")
    _numbers(columns)
    try:
        order = sorted(range(n), key=lambda i: at[i])
    except TypeError:
        raise InputError("at", "days and times mixed", "one kind: days, or times all with or without a zone") from None
    return Pairs(
        **_ordered(columns, order),
        at=tuple(at[i] for i in order),
        lots=tuple(lots[i] for i in order) if lots else (),
        temperature_c=_one_temperature(temperature_c, n),
        product=product,
        formula_version=formula_version,
    )


def _ordered(columns: dict[str, list[float]], order: list[int]) -> dict[str, Any]:
    return {name: tuple(float(column[i]) for i in order) for name, column in columns.items()}


def _numbers(columns: dict[str, list[float]]) -> None:
    limits = {
        "a_w": (1.0, "a fraction above 0 and up to 1 (65.2 % is 0.652)"),
        "moisture_db": (1e3, "kg of water per kg of dry solids, above 0"),
        "u_a_w": (0.5, "a standard uncertainty greater than zero: errors in both need both"),
        "u_moisture": (1e3, "a standard uncertainty greater than zero: errors in both need both"),
    }
    for name, (high, allowed) in limits.items():
        for row, one in enumerate(columns[name], start=1):
            if not (math.isfinite(one) and 0.0 < one <= high):
                raise InputError(name, one, allowed, row=row)


def _all(one_or_many: float | Sequence[float], n: int) -> list[float]:
    return [float(one_or_many)] * n if isinstance(one_or_many, (int, float)) else list(one_or_many)


def _one_temperature(given: float | Sequence[float] | None, n: int) -> float | None:
    if given is None:
        return None
    many = _all(given, n)
    if many and max(many) - min(many) > _ALIKE_K:
        read = f"{min(many):g} to {max(many):g}"
        raise InputError("temperature_c", read, f"readings within {_ALIKE_K:g} K: restate the others first")
    return sum(many) / len(many) if many else None

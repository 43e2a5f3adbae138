"""Which points of a file are fitted: one direction and one temperature, chosen by name where a file holds several.

Adsorption and desorption are different isotherms, and so are two temperatures: mixed they would give a curve that
nothing follows. Readings of one temperature scatter, so temperatures within 1 K of the lowest of them are one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.point_file import PointRecord, PointTable

if TYPE_CHECKING:  # a choice that leads nowhere is refused before the array libraries are loaded
    from numpy import float64
    from numpy.typing import NDArray

    from isohume.product.sorption.points import Points

ONE_TEMPERATURE_K = 1.0
"""How far readings of one temperature may lie apart: with q = 3 kJ/mol a change of 1 K moves an a_w of 0.85 by 0.0034,
about the standard uncertainty of a reading."""


@dataclass(frozen=True, slots=True)
class Selection:
    """The points to fit, and beside them every temperature of the same direction.

    `by_temperature` is empty where the file says no temperatures; its keys are the means of what was read as one.
    """

    records: tuple[PointRecord, ...]
    direction: str | None
    temperature_c: float | None
    by_temperature: dict[float, tuple[PointRecord, ...]]
    notes: tuple[str, ...] = ()

    def levelled(self) -> tuple[PointRecord, ...]:
        """The points of every temperature, each at the mean of its group: what is compared at equal moisture."""
        return tuple(
            replace(record, temperature_c=mean) for mean, group in self.by_temperature.items() for record in group
        )


def select_points(
    table: PointTable, direction: str | None = None, temperature_c: float | None = None, *, together: bool = False
) -> Selection:
    """The points of one direction and one temperature.

    table: the points of a file [text].
    direction: "adsorption" or "desorption" [text]; needed where the file holds both.
    temperature_c: the temperature to fit [degC]; needed where the file holds several.
    together: take every temperature at once [1], for a model that has temperature in it.
    Returns: the Selection [text].
    Raises: InputError that lists what the file holds where a choice is missing or leads nowhere.
    Source: none.
    """
    held, chosen = _of_direction(table.records, direction)
    groups = _temperatures(held)
    if not groups:
        if temperature_c is not None or together:
            read = "nothing" if temperature_c is None else temperature_c
            raise InputError("temperature_c", read, "a file with a column temperature_c: this one has none")
        return Selection(held, chosen, None, {})
    notes = tuple(_said(mean, group) for mean, group in groups.items() if _spread(group) > 0)
    if together:
        return Selection(_all(groups), chosen, _nearest(groups, temperature_c), groups, notes)
    at = _nearest(groups, temperature_c)
    if at is None:
        raise InputError("temperature_c", "nothing", f"one of the file's temperatures: {_listed(groups)}")
    return Selection(groups[at], chosen, at, groups, notes)


def points_of(records: Sequence[PointRecord]) -> Points:
    """Points for a fit from the rows of a file.

    records: rows that all say, or all do not say, each of the optional quantities [text].
    Returns: the Points [1], moisture on dry basis.
    Raises: InputError where the points cannot be an isotherm.
    Source: none.
    """
    import numpy as np

    from isohume.product.sorption.points import Points

    def column(name: str) -> NDArray[float64] | None:
        values = [getattr(record, name) for record in records]
        return None if None in values else np.array(values, dtype=float)

    directions = tuple(record.direction for record in records if record.direction is not None)
    return Points(
        np.array([record.a_w for record in records]),
        np.array([record.moisture_db for record in records]),
        u_a_w=column("u_a_w"),
        u_moisture=column("u_moisture"),
        temperature_c=column("temperature_c"),
        direction=directions or None,
    )


def _of_direction(records: tuple[PointRecord, ...], wanted: str | None) -> tuple[tuple[PointRecord, ...], str | None]:
    there = list(dict.fromkeys(record.direction for record in records if record.direction is not None))
    if not there and wanted is not None:
        raise InputError("direction", wanted, "a file with a column direction: this one has none")
    if wanted is None and len(there) > 1:
        raise InputError("direction", "nothing", f"one of the file's directions: {_counted(records, there)}")
    if wanted is not None and wanted not in there:
        raise InputError("direction", wanted, f"one of the file's directions: {_counted(records, there)}")
    chosen = wanted or (there[0] if there else None)
    return tuple(record for record in records if record.direction == chosen), chosen


def _counted(records: Iterable[PointRecord], there: Iterable[str]) -> str:
    directions = [record.direction for record in records]
    return ", ".join(f"{name} ({directions.count(name)} points)" for name in there)


def _temperatures(records: tuple[PointRecord, ...]) -> dict[float, tuple[PointRecord, ...]]:
    """The points by temperature, each with the mean of the readings that are taken as one."""
    read = sorted({record.temperature_c for record in records if record.temperature_c is not None})
    groups: list[list[float]] = []
    for temperature in read:
        if groups and temperature - groups[-1][0] <= ONE_TEMPERATURE_K:
            groups[-1].append(temperature)
        else:
            groups.append([temperature])
    found = {}
    for group in groups:
        members = [record for record in records if record.temperature_c in group]
        mean = fsum(r.temperature_c for r in members if r.temperature_c is not None) / len(members)
        found[mean if len(group) > 1 else group[0]] = tuple(members)
    return found


def _spread(group: tuple[PointRecord, ...]) -> float:
    read = [record.temperature_c for record in group if record.temperature_c is not None]
    return max(read) - min(read)


def _said(mean: float, group: tuple[PointRecord, ...]) -> str:
    read = [record.temperature_c for record in group if record.temperature_c is not None]
    return f"temperature_c: {min(read):g} to {max(read):g} taken as one temperature, {mean:.4g} degC"


def _nearest(groups: dict[float, tuple[PointRecord, ...]], wanted: float | None) -> float | None:
    """The temperature that is meant; None where none was named and there are several."""
    if wanted is None:
        return next(iter(groups)) if len(groups) == 1 else None
    nearest = min(groups, key=lambda mean: abs(mean - wanted))
    if abs(nearest - wanted) > ONE_TEMPERATURE_K:
        raise InputError("temperature_c", wanted, f"one of the file's temperatures: {_listed(groups)}")
    return nearest


def _listed(groups: dict[float, tuple[PointRecord, ...]]) -> str:
    return ", ".join(f"{mean:.4g} ({len(group)} points)" for mean, group in groups.items())


def _all(groups: dict[float, tuple[PointRecord, ...]]) -> tuple[PointRecord, ...]:
    return tuple(record for group in groups.values() for record in group)

"""Points of an isotherm: what was measured, with its uncertainties, temperature and direction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from isohume.foundation.quantity.errors import InputError

DIRECTIONS = ("adsorption", "desorption")
_T0 = 273.15
_USUAL_TEMPERATURE_C = 25.0  # stands in the kernels where no model asks for a temperature
_COLDEST_C, _HOTTEST_C = -100.0, 400.0


def _array(name: str, values: ArrayLike | None, count: int | None = None) -> NDArray[np.float64] | None:
    if values is None:
        return None
    array = np.atleast_1d(np.asarray(values, dtype=float)).copy()
    if array.ndim != 1:
        raise InputError(name, f"an array of {array.ndim} dimensions", "one number a point")
    if count is not None and array.size == 1 and count > 1:
        array = np.full(count, array[0])
    if count is not None and array.size != count:
        raise InputError(name, f"{array.size} numbers", f"one number a point, {count} in all")
    array.setflags(write=False)
    return array


def _check(name: str, values: NDArray[np.float64] | None, low: float, high: float, allowed: str) -> None:
    if values is not None:
        bad = np.flatnonzero(~((values >= low) & (values <= high)))
        if bad.size:
            raise InputError(name, float(values[bad[0]]), allowed, row=int(bad[0]) + 1)


@dataclass(frozen=True)
class Points:
    """Measured points of one product: a_w and moisture on dry basis as fractions, one entry a point.

    u_a_w, u_moisture: standard uncertainties, None where not known; direction: "adsorption" or "desorption" a point.
    """

    a_w: NDArray[np.float64]
    moisture_db: NDArray[np.float64]
    u_a_w: NDArray[np.float64] | None = None
    u_moisture: NDArray[np.float64] | None = None
    temperature_c: NDArray[np.float64] | None = None
    direction: tuple[str, ...] | None = None
    product: str = ""
    formula_version: str = ""
    _known: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)

    def __post_init__(self) -> None:
        a_w = _array("a_w", self.a_w)
        count = 0 if a_w is None else a_w.size
        put = object.__setattr__
        put(self, "a_w", a_w)
        for name in ("moisture_db", "u_a_w", "u_moisture", "temperature_c"):
            put(self, name, _array(name, getattr(self, name), count))
        put(self, "direction", _directions(self.direction, count))
        _check("a_w", self.a_w, 0.0, 1.0, "a fraction from 0 to 1 (65.2 % is 0.652)")
        _check("moisture_db", self.moisture_db, -0.05, 1e4, "kg of water per kg of dry solids, 0 or more")
        _check("u_a_w", self.u_a_w, 1e-9, 0.5, "a standard uncertainty above 0, at most 0.5")
        _check("u_moisture", self.u_moisture, 1e-12, 1e4, "a standard uncertainty above 0")
        _check("temperature_c", self.temperature_c, _COLDEST_C, _HOTTEST_C, f"{_COLDEST_C:g} to {_HOTTEST_C:g} degC")

    @property
    def count(self) -> int:
        """How many points there are."""
        return int(self.a_w.size)

    @property
    def temperature_k(self) -> NDArray[np.float64]:
        """The temperature of every point [K]; the usual 25 degC where none was given (no model then reads it)."""
        if "kelvin" not in self._known:
            given = np.full(self.count, _USUAL_TEMPERATURE_C) if self.temperature_c is None else self.temperature_c
            self._known["kelvin"] = given + _T0
        kelvin: NDArray[np.float64] = self._known["kelvin"]
        return kelvin

    def of(self, chosen: ArrayLike) -> Points:
        """The points chosen by a mask or by positions."""
        index = np.asarray(chosen)
        index = np.flatnonzero(index) if index.dtype == bool else index
        part: dict[str, Any] = {
            name: None if getattr(self, name) is None else getattr(self, name)[index]
            for name in ("a_w", "moisture_db", "u_a_w", "u_moisture", "temperature_c")
        }
        direction = None if self.direction is None else tuple(self.direction[i] for i in index)
        return replace(self, **part, direction=direction, _known={})

    def branches(self) -> dict[str, Points]:
        """The points of each direction, by its name; all under "not stated" where no direction was given."""
        if self.direction is None:
            return {"not stated": self}
        names = np.array(self.direction)
        return {name: self.of(names == name) for name in DIRECTIONS if (names == name).any()}

    def temperatures(self) -> dict[float, Points]:
        """The points of each temperature [degC], coldest first; empty where no temperature was given."""
        if self.temperature_c is None:
            return {}
        return {float(each): self.of(self.temperature_c == each) for each in np.unique(self.temperature_c)}


def _directions(given: Sequence[str] | str | None, count: int) -> tuple[str, ...] | None:
    if given is None:
        return None
    names = (given,) * count if isinstance(given, str) else tuple(given)
    if len(names) != count:
        raise InputError("direction", f"{len(names)} words", f"one word a point, {count} in all")
    for row, name in enumerate(names, start=1):
        if name not in DIRECTIONS:
            raise InputError("direction", name, "adsorption or desorption", row=row)
    return names

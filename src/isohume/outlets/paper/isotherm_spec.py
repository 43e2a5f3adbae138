"""What stands on the picture of an isotherm: points, curves with bands, a limit; knows nothing of screen or paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from isohume.foundation.quantity.errors import InputError

Direction = Literal["adsorption", "desorption"]


@dataclass(frozen=True, slots=True)
class SorptionPoint:
    """One measured point; moisture on dry basis, kg/kg."""

    a_w: float
    moisture_db: float
    direction: Direction = "adsorption"
    used: bool = True  # false: outside the range of the curve that is drawn

    def __post_init__(self) -> None:
        _finite("point", self.a_w, self.moisture_db)


@dataclass(frozen=True, slots=True)
class SorptionCurve:
    """A fitted curve over its fitted range, with the ends of its band."""

    name: str
    a_w: tuple[float, ...]
    moisture_db: tuple[float, ...]
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()
    direction: Direction = "adsorption"

    def __post_init__(self) -> None:
        if len(self.a_w) < 2 or len(self.a_w) != len(self.moisture_db):
            raise InputError("curve", f"{len(self.a_w)} and {len(self.moisture_db)} numbers", "two or more of each")
        if len(self.low) != len(self.high) or len(self.low) not in (0, len(self.a_w)):
            raise InputError("curve.band", f"{len(self.low)} and {len(self.high)} numbers", "one at each a_w, or none")
        _finite("curve", *self.a_w, *self.moisture_db, *self.low, *self.high)


@dataclass(frozen=True, slots=True)
class SorptionLimit:
    """An a_w limit read on the curve: moisture with its interval, and a_w at that moisture with its own."""

    a_w: float
    moisture_db: float
    low: float
    high: float
    a_w_low: float
    a_w_high: float

    def __post_init__(self) -> None:
        _finite("limit", self.a_w, self.moisture_db, self.low, self.high, self.a_w_low, self.a_w_high)


@dataclass(frozen=True, slots=True)
class IsothermSpec:
    """The whole picture; band: what its level is called, such as 95 %."""

    title: str
    points: Sequence[SorptionPoint]
    curves: Sequence[SorptionCurve] = ()
    limit: SorptionLimit | None = None
    band: str = ""

    def __post_init__(self) -> None:
        if not self.points:
            raise InputError("points", "none", "at least one point")


def _finite(field: str, *values: float) -> None:
    for value in values:
        if not math.isfinite(value):
            raise InputError(field, value, "a finite number")

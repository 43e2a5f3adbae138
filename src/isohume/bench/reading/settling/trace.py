"""A run's trace: what the instrument showed, when, and at which temperatures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import InputError

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Trace:
    """Readings in time order; temperatures and the room's humidity hold NaN where they were not taken.

    typed: the readings as typed, whose decimals a criterion is judged by.
    """

    elapsed_s: Array
    a_w: Array
    typed: tuple[Decimal, ...]
    sample_temperature_c: Array
    block_temperature_c: Array
    room_humidity: Array

    @property
    def n(self) -> int:
        """How many readings."""
        return int(self.elapsed_s.size)

    def until(self, seconds: float) -> Trace:
        """The readings that had been taken by then."""
        return self._first(int(np.searchsorted(self.elapsed_s, seconds, side="right")))

    def _first(self, n: int) -> Trace:
        return Trace(
            self.elapsed_s[:n],
            self.a_w[:n],
            self.typed[:n],
            self.sample_temperature_c[:n],
            self.block_temperature_c[:n],
            self.room_humidity[:n],
        )


def trace_of(
    elapsed_s: Sequence[float] | Array,
    a_w: Sequence[float | Decimal] | Array,
    sample_temperature_c: Array | None = None,
    block_temperature_c: Array | None = None,
    room_humidity: Array | None = None,
) -> Trace:
    """A trace from arrays.

        t_1 < t_2 < ... < t_n
    elapsed_s: seconds since the run began [s], growing, at least one.
    a_w: the readings [1]; decimals are kept as they are, floats are taken at their shortest decimal form.
    sample_temperature_c: temperature of the sample's surface [degC], NaN or absent where not taken.
    block_temperature_c: temperature of the block [degC], NaN or absent where not taken.
    room_humidity: relative humidity of the room as a fraction [1], NaN or absent where not taken.
    Returns: the Trace [1].
    Raises: InputError where lengths differ, a number is not finite, or the time does not grow.
    Source: none.
    """
    times = np.asarray(elapsed_s, dtype=float)
    typed = tuple(one if isinstance(one, Decimal) else Decimal(repr(float(one))) for one in a_w)
    values = np.array([float(one) for one in typed])
    others = {
        "sample_temperature_c": sample_temperature_c,
        "block_temperature_c": block_temperature_c,
        "room_humidity": room_humidity,
    }
    columns = {name: np.full(times.size, np.nan) if given is None else given for name, given in others.items()}
    for name, column in {"a_w": values, **columns}.items():
        if column.size != times.size:
            raise InputError(name, f"{column.size} numbers", f"{times.size}, one for each elapsed_s")
    if times.size == 0:
        raise InputError("a_w", "no readings", "at least one reading")
    for name, column in {"elapsed_s": times, "a_w": values}.items():
        if not np.isfinite(column).all():
            raise InputError(name, "a number that is not finite", "finite numbers")
    back = np.flatnonzero(np.diff(times) <= 0.0)
    if back.size:
        at = int(back[0]) + 1
        raise InputError("elapsed_s", times[at], f"more than {times[at - 1]:g}, the time of the reading before")
    return Trace(times, values, typed, **columns)

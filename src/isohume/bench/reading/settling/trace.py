"""A run's trace: what the instrument showed, when, and at which temperatures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import InputError

Array = NDArray[np.float64]
FINEST, COARSEST = Decimal("0.0001"), Decimal("0.05")


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

    @property
    def last_digit(self) -> Decimal:
        """The finest last digit of the readings: trailing zeros may have been left away in some of them."""
        return Decimal(1).scaleb(min((0, *map(last_place, self.typed))))

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


def last_digit_of(trace: Trace, said: float | None = None) -> Decimal:
    """The last digit of a trace's readings: what is said of it may be coarser than what was read, never finer.

    Where nothing is said it is no finer than instruments show, for a file may hold more digits than they did.
    """
    least = FINEST if said is None else Decimal(repr(float(said)))
    return max(least, min(trace.last_digit, COARSEST))


def last_place(number: Decimal) -> int:
    """The place of a number's last digit as it was read: -4 for 0.6500."""
    exponent = number.as_tuple().exponent
    return exponent if isinstance(exponent, int) else 0


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

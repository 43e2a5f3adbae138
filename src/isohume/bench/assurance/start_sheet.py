"""The start sheet of a bench day: room, warm-up, and the block's temperature against the method's."""

from __future__ import annotations

import math
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange

ROOM_C = ValidRange(0, 50, "degC", "a room people work in")
BLOCK_C = ValidRange(0, 60, "degC")
ROOM_RH = ValidRange(0, 100, "%", "relative humidity of the room, which is no water activity")
ROOM_CAUTION_K = 2.0
"""A room farther than this from the block is worth a word (common practice, no source)."""
_DUST = 1e-9  # the difference of two typed temperatures carries binary dust; a nanokelvin is no deviation


@dataclass(frozen=True, slots=True)
class StartSheet:
    """Whether measuring may start, why or why not, and what to watch."""

    may_start: bool
    reasons: tuple[str, ...]
    cautions: tuple[str, ...] = ()


def judge_start(
    room_temperature_c: float,
    room_rh_percent: float | None,
    warmed_up_min: float,
    warm_up_needed_min: float,
    block_temperature_c: float,
    method_temperature_c: float,
    tolerance_k: float,
) -> StartSheet:
    """Whether an instrument may start its day: warmed up, and its block at the method's temperature.

        may_start = warmed_up >= warm_up_needed and |block - method| <= tolerance
    room_temperature_c: temperature of the room [degC], 0 to 50.
    room_rh_percent: relative humidity of the room [%], 0 to 100; None where it was not read. It is no a_w.
    warmed_up_min: how long the instrument has been on [min], zero or more.
    warm_up_needed_min: how long the method asks for [min], zero or more.
    block_temperature_c: temperature the block shows [degC], 0 to 60.
    method_temperature_c: temperature the method prescribes [degC], 0 to 60.
    tolerance_k: how far the block may be from it [K], zero or more.
    Returns: the StartSheet [text] with reasons, and cautions that forbid nothing.
    Raises: RangeError, InputError for a value outside what is allowed.
    Example: 15 min of 30 needed, block 25.0 -> may not start, 15 min to go.
    Source: none (warm-up and tolerance are the method's own; a caution about the room is common practice).
    """
    ROOM_C.check("room_temperature_c", room_temperature_c)
    BLOCK_C.check("block_temperature_c", block_temperature_c)
    BLOCK_C.check("method_temperature_c", method_temperature_c)
    if room_rh_percent is not None:
        ROOM_RH.check("room_rh_percent", room_rh_percent)
    _not_negative("warmed_up_min", warmed_up_min, "minutes")
    _not_negative("warm_up_needed_min", warm_up_needed_min, "minutes")
    _not_negative("tolerance_k", tolerance_k, "kelvin")
    against = _not_warm(warmed_up_min, warm_up_needed_min)
    against += _off(block_temperature_c, method_temperature_c, tolerance_k)
    cautions = _room(room_temperature_c, room_rh_percent, block_temperature_c)
    if against:
        return StartSheet(False, against, cautions)
    fine = (
        f"Warmed up {warmed_up_min:g} min of {warm_up_needed_min:g} min needed.",
        f"The block at {block_temperature_c:g} degC is within {tolerance_k:g} K of the method's "
        f"{method_temperature_c:g} degC.",
    )
    return StartSheet(True, fine, cautions)


def _not_negative(field: str, value: float, unit: str) -> None:
    if not (value >= 0 and math.isfinite(value)):
        raise InputError(field, value, f"{unit}, zero or more")


def _not_warm(warmed_up: float, needed: float) -> tuple[str, ...]:
    if warmed_up >= needed:
        return ()
    return (f"Warmed up {warmed_up:g} min of {needed:g} min needed: wait {needed - warmed_up:g} min more.",)


def _off(block: float, method: float, tolerance: float) -> tuple[str, ...]:
    off = block - method
    if abs(off) <= tolerance + _DUST:
        return ()
    side = "above" if off > 0 else "below"
    return (
        f"The block at {block:g} degC is {abs(off):.3g} K {side} the method's {method:g} degC, "
        f"beyond {tolerance:g} K: set the block and wait until it holds.",
    )


def _room(room: float, rh: float | None, block: float) -> tuple[str, ...]:
    cautions = []
    if abs(room - block) > ROOM_CAUTION_K + _DUST:
        side = "warmer" if room > block else "colder"
        cautions.append(
            f"The room is {abs(room - block):.1f} K {side} than the block: a cup that waits in it ends {side} too; "
            "temper it at the block's temperature."
        )
    if rh is None:
        cautions.append("The room's relative humidity was not read.")
    return tuple(cautions)

"""Readings that do not come to rest because something goes on: air from the room, or a volatile on the sensor."""

from __future__ import annotations

import numpy as np

from isohume.bench.reading.diagnosis.finding import Finding
from isohume.bench.reading.diagnosis.signs import QUICK_S, Signs, Slope, smooth_columns
from isohume.bench.reading.settling.trace import Array

_SURE = 5.0
CHAMBER_S = 20.0
LEAST_ROOM = 20
_SWING = 0.003  # the room's humidity must have moved by so much to be followed
_STEADY = 0.86
"""A slope that keeps more than this of itself from the first to the last third does not decay."""
LEAK = "Clean the rim and the seal, look whether the cup is overfull, close the chamber and read again."
VOLATILE = (
    "Note the volatile in the product's scope and read it with another sensor principle or filter if there is one. Air "
    "the chamber and read a reference before the next sample: what is on the sensor is carried over."
)


def leak(signs: Signs) -> Finding | None:
    """The reading follows the room's humidity, or goes steadily towards it."""
    room = signs.trace.room_humidity[~np.isnan(signs.trace.room_humidity)]
    if room.size < LEAST_ROOM:
        return None
    followed = _followed(signs)
    if followed is not None and followed[0] > _SURE * followed[1]:
        said = f"The reading follows {100.0 * followed[0]:.1f} % of every change of the room's humidity."
        return Finding("leak", (said,), LEAK)
    slopes = _steady(signs)
    away = float(room[-5:].mean()) - signs.last
    if slopes is None or np.sign(slopes[1].per_s) != np.sign(away) or abs(away) < 0.05:
        return None
    a_minute, there = 60.0 * slopes[1].per_s, float(room[-5:].mean())
    said = f"It moves by {a_minute:+.4f} a minute towards the room's {there:.2f} and does not slow down."
    return Finding("leak", (said,), LEAK)


def volatile(signs: Signs) -> Finding | None:
    """It climbs, and the climb does not decay."""
    slopes = _steady(signs)
    if slopes is None or slopes[1].per_s <= 0.0:
        return None
    first, last = (60.0 * slope.per_s for slope in slopes)
    said = (
        f"It climbs by {last:.4f} a minute at the end and climbed by {first:.4f} before: the climb does not decay.",
        "A sample that comes to rest slows down; a substance that gathers on the sensor does not.",
    )
    return Finding("volatile", said, VOLATILE)


def _steady(signs: Signs) -> tuple[Slope, Slope] | None:
    """The slopes of the first and the last third after a quick sample's rest, if they are sure and alike."""
    begin, end = QUICK_S, signs.elapsed_s
    if end - begin < QUICK_S:
        return None
    third = (end - begin) / 3.0
    first, last = signs.slope(begin, begin + third), signs.slope(end - third, end)
    if first is None or last is None or not (first.sure and last.sure) or first.per_s * last.per_s <= 0.0:
        return None
    moves = abs(last.per_s) * float(signs.criterion.window_s) > float(signs.criterion.change)
    doubt = 2.0 * np.hypot(first.u / first.per_s, last.u / last.per_s)
    return (first, last) if moves and abs(last.per_s / first.per_s) > _STEADY - doubt else None


def _followed(signs: Signs) -> tuple[float, float] | None:
    """The share of the room's changes that the reading follows, with its u: beside a curve that comes to rest."""
    t = signs.trace.elapsed_s - signs.trace.elapsed_s[0]
    known = ~np.isnan(signs.trace.room_humidity)
    t_known, late = t[known], t[known] >= min(QUICK_S, 0.4 * t[-1])
    room, y = signs.trace.room_humidity[known][late], signs.trace.a_w[known][late]
    if y.size < LEAST_ROOM or np.ptp(room) < _SWING:
        return None
    seen = _through_the_chamber(t_known, signs.trace.room_humidity[known])[late]
    smooth = smooth_columns(t_known[late], float(t[-1]))
    columns = np.column_stack([smooth, seen - seen.mean(), (room - seen) - (room - seen).mean()])
    share, *_ = np.linalg.lstsq(columns, y, rcond=None)
    left = y - columns @ share
    alike = float(np.clip(left[1:] @ left[:-1] / max(float(left @ left), 1e-30), 0.0, 0.97))
    variance = float(left @ left) / (y.size - 7) * (1.0 + alike) / (1.0 - alike)
    spread = np.linalg.pinv(columns.T @ columns)
    return float(share[-2]), float(np.sqrt(variance * spread[-2, -2]))


def _through_the_chamber(t: Array, room: Array) -> Array:
    """The room's humidity as a chamber of some seconds shows it: later, and evened out."""
    seen = room.copy()
    for i in range(1, room.size):
        seen[i] = room[i] + (seen[i - 1] - room[i]) * np.exp(-(t[i] - t[i - 1]) / CHAMBER_S)
    return seen

"""Numbers and moments of a year's points as text, each saying what it would say written alone; a year has many.

Where a picture stands in tenths, ready words of one width are asked from a table; what lies within a hair of half a
tenth is counted by itself, for a product with ten may round where the number would not.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Tenths = NDArray[np.int64]
DAY = 86_400
MINUS = "\N{MINUS SIGN}"
_HAIR = 1e-6
_WIDE = 5
_MOST = 9_999
_TENTHS = np.frombuffer(b"".join(f"{n / 10:05.1f}".encode() for n in range(_MOST + 1)), np.uint8).reshape(-1, _WIDE)
_OF_DAY = [f"{minute // 60:02d}:{minute % 60:02d}" for minute in range(DAY // 60)]
_EPOCH = date(1970, 1, 1).toordinal()


def tenths(values: Numbers) -> Tenths:
    """How many tenths each is, rounded as `.1f` rounds."""
    scaled = values * 10.0
    near = np.rint(scaled)
    counted = near.astype(np.int64)
    for place in np.flatnonzero(np.abs(scaled - near) > 0.5 - _HAIR).tolist():
        counted[place] = round(float(f"{values[place]:.1f}") * 10.0)
    return counted


def spots(across: Tenths, up: Tenths, between: str = " ") -> str:
    """The spots of a path one after the other, `between` them; every number as wide as the widest, with noughts."""
    if not across.size:
        return ""
    if min(across.min(), up.min()) < 0 or max(across.max(), up.max()) > _MOST:
        return between.join(f"{x / 10:.1f} {y / 10:.1f}" for x, y in zip(across.tolist(), up.tolist(), strict=True))
    after = np.frombuffer(between.encode("ascii"), np.uint8)
    text = np.empty((len(across), 2 * _WIDE + 1 + len(after)), np.uint8)
    text[:, :_WIDE] = _TENTHS.take(across, axis=0)
    text[:, _WIDE] = ord(" ")
    text[:, _WIDE + 1 : 2 * _WIDE + 1] = _TENTHS.take(up, axis=0)
    text[:, 2 * _WIDE + 1 :] = after
    return text.tobytes()[: -len(after)].decode("ascii")


def each(form: str, values: Sequence[float]) -> list[str]:
    """Each as the form writes it, with a true minus sign."""
    return (f"{form}\n" * len(values) % tuple(values)).replace("-", MINUS).split("\n")[:-1]


def moments(at: Sequence[int], zone: ZoneInfo) -> list[str]:
    """Day, hour and minute of each, as the plant's clock shows them."""
    seconds = np.array(at, dtype=np.int64)
    days, of_day = np.unique(seconds // DAY, return_inverse=True)
    ahead = [_ahead(day, zone) for day in days.tolist()]
    local = seconds + np.array([one or 0 for one in ahead], dtype=np.int64)[of_day]
    days, of_local = np.unique(local // DAY, return_inverse=True)
    words = [f"{_day(day)} " for day in days.tolist()]
    minutes = (local % DAY // 60).tolist()
    said = [words[day] + _OF_DAY[minute] for day, minute in zip(of_local.tolist(), minutes, strict=True)]
    if None in ahead:
        changed = np.array([one is None for one in ahead])[of_day]
        for place in np.flatnonzero(changed).tolist():
            said[place] = datetime.fromtimestamp(at[place], zone).isoformat(" ", "minutes")[:16]
    return said


@lru_cache(maxsize=4_096)
def _ahead(day: int, zone: ZoneInfo) -> int | None:
    """How many seconds the plant's clock is ahead on a day counted in UTC; None where it is changed that day."""
    first, last = (datetime.fromtimestamp(end * DAY, UTC).astimezone(zone).utcoffset() for end in (day, day + 1))
    return round(first.total_seconds()) if first is not None and first == last else None


@lru_cache(maxsize=4_096)
def _day(day: int) -> str:
    return date.fromordinal(_EPOCH + day).isoformat()

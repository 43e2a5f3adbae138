"""Ticks of a chart against time: days a person counts in, and steps of a deviation, exact in their decimals."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

HOURS = (1, 2, 3, 6, 12)
FEW_DAYS = timedelta(days=3)  # beyond, hours say nothing
DAYS = (1, 2, 7, 14, 28, 91, 182, 364)
MONDAY = datetime(2024, 1, 1)  # noqa: DTZ001 - weeks are counted on the wall, in the plant's own time


def value_ticks(low: float, high: float, most: int = 6) -> tuple[tuple[float, str], ...]:
    """Steps of 1, 2 or 5 inside low to high, with sign and as many decimals as the step needs."""
    raw = (high - low) / most
    power = math.floor(math.log10(raw))
    # a power and a step that both are counted in whole numbers: no tick at 0.30000000000000004
    step, power = next((s, p) for p in (power, power + 1) for s in (1, 2, 5) if s * 10.0**p >= raw * (1 - 1e-9))
    size, decimals = step * 10.0**power, max(0, -power)
    first, last = math.ceil(low / size - 1e-9), math.floor(high / size + 1e-9)
    return tuple((i * size, _signed(i * size, decimals)) for i in range(first, last + 1))


def _signed(value: float, decimals: int) -> str:
    if abs(value) < 0.5 * 10.0**-decimals:
        return "0"
    return f"{value:+.{decimals}f}".replace("-", "\N{MINUS SIGN}")


def time_ticks(first: datetime, last: datetime, most: int = 8) -> tuple[tuple[datetime, str], ...]:
    """Whole hours, days or weeks between two moments, as the clock on the plant's wall shows them."""
    wide = last - first
    hours = [timedelta(hours=h) for h in HOURS] if wide <= FEW_DAYS else []
    step = next(
        (s for s in (*hours, *(timedelta(days=d) for d in DAYS)) if wide / s <= most),
        timedelta(days=math.ceil(wide.days / most / 364) * 364),
    )
    wall = first.replace(tzinfo=None)
    at = MONDAY + math.ceil((wall - MONDAY) / step) * step
    out = []
    while at.replace(tzinfo=first.tzinfo) <= last:
        out.append((at.replace(tzinfo=first.tzinfo), _words(at, step)))
        at += step
    return tuple(out)


def _words(at: datetime, step: timedelta) -> str:
    if step < timedelta(days=1):
        return at.strftime("%H:%M") if at.hour else at.strftime("%m-%d")
    return at.strftime("%Y-%m-%d") if step > timedelta(days=60) else at.strftime("%m-%d")

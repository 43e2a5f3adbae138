"""The a_w line of a lot restated: its limits, the value as read and the value restated, each with 2 u."""

from __future__ import annotations

from isohume.desk.restating import Restated
from isohume.outlets.paper.line_spec import LimitMark, LineSpec, ValueMark, fitted
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.checks.standing_of import limits_of

COVERAGE = 2.0


def restate_line(lot: Lot, found: Restated) -> LineSpec:
    """The line; the restated value is missing where it was refused."""
    reading = found.reading
    values = [_mark(f"{reading.temperature_c:g} °C", reading.a_w, reading.u)]
    if found.value is not None and found.shares:
        values.append(_mark(f"{found.temperature_c:g} °C", found.value, found.u))
    limits = [
        LimitMark(float(limit.value), limit.operator, f"{limit.value}")  # without a guard: nothing is decided here
        for limit in limits_of(lot.specification)
    ]
    return fitted(f"Lot {lot.code} as read and restated", limits=limits, values=values)


def _mark(name: str, value: float, u: float | None) -> ValueMark:
    half = COVERAGE * u if u else None
    return ValueMark(name, value, f"{value:.3f}", half_width=half, half_width_typed=f"{half:.3f}" if half else "")

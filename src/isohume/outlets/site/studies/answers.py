"""What a fitted set of points answers: moisture at a_w, a_w at moisture, and the moisture limit for an a_w limit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from isohume.foundation.metrology import student_quantile
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.moisture import dry_from_wet, wet_from_dry
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c
from isohume.outlets.site.studies.curves import Curve
from isohume.outlets.site.studies.points import SAME_TEMPERATURE_C

LEVELS = {"90": "90 %", "95": "95 %", "99": "99 %"}
Fitted = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with the interval it lies in."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Limit:
    """The moisture that belongs to an a_w limit, and what to keep to."""

    a_w: float
    asked_at: float  # the a_w limit less its guard band
    level: str
    moisture: Interval  # dry basis
    keep: float  # dry basis: with the assurance, the a_w limit holds where no more is measured
    a_w_there: Interval  # a_w at the best estimate of the moisture
    resampled: Interval  # the moisture's interval found in another way: by bootstrap


@dataclass(frozen=True, slots=True)
class Saved:
    """The recommended curve of a set as the worker saved it."""

    moisture: Curve
    slope: Curve
    u: Curve
    dof: int

    @classmethod
    def of(cls, fitted: Fitted) -> Saved:
        """Read from a set's result."""
        saved = fitted["curve"]
        moisture = Curve(saved["a_w"], saved["moisture"], saved["slope"])
        slope, u = (Curve(saved["a_w"], saved[name]) for name in ("slope", "u"))
        return cls(moisture, slope, u, int(saved["dof"]))

    def reach(self, level: float) -> float:
        """How many standard uncertainties an interval reaches to either side."""
        return student_quantile(0.5 * (1.0 + level), self.dof)


def moisture_at(fitted: Fitted, a_w: float, level: str, field: str = "a_w") -> Interval:
    """Moisture on dry basis at an a_w, with the interval of the curve.

    Raises: InputError at the field, outside the fitted range.
    """
    saved = Saved.of(fitted)
    low, high = saved.moisture.ends
    if not low <= a_w <= high:
        raise InputError(field, f"{a_w:g}", f"{low:.3f} to {high:.3f}, the range that was fitted; nothing beyond it")
    value, half = saved.moisture.at(a_w), saved.reach(int(level) / 100) * saved.u.at(a_w)
    return Interval(value, value - half, value + half)


def water_activity_at(fitted: Fitted, moisture_db: float, level: str, field: str = "moisture") -> Interval:
    """a_w at a moisture on dry basis, with the interval that the same uncertainty has in the direction of a_w.

    Raises: InputError at the field, outside the fitted range.
    """
    saved = Saved.of(fitted)
    value = saved.moisture.where(moisture_db)
    if value is None:
        low, high = saved.moisture.y[0], saved.moisture.y[-1]
        wet = f"{100 * wet_from_dry(low):.2f} to {100 * wet_from_dry(high):.2f} % wet basis"
        said = f"{low:.4f} to {high:.4f} kg/kg dry basis ({wet}), the range that was fitted"
        raise InputError(field, f"{moisture_db:.4g} kg/kg dry basis", said)
    half = saved.reach(int(level) / 100) * saved.u.at(value) / abs(saved.slope.at(value))
    return Interval(value, value - half, value + half)


def moisture_limit(fitted: Fitted, a_w: float, level: str, guard: float = 0.0, u_wb: float = 0.0) -> Limit:
    """The moisture limit for an a_w limit, by the rule of `isohume.sorption.moisture_limit`.

    guard: band that is taken off the a_w limit first. u_wb: standard uncertainty of a moisture determination, on wet
    basis.
    Raises: InputError outside the fitted range, and where nothing is left to keep to.
    """
    asked, saved = a_w - guard, Saved.of(fitted)
    found = moisture_at(fitted, asked, level, "a_w_limit")
    u_moisture = u_wb * (1 + found.value) ** 2  # dX = dw/(1 - w)^2, 1 - w = 1/(1 + X)
    keep = found.value - saved.reach(2 * int(level) / 100 - 1) * math.hypot(saved.u.at(asked), u_moisture)
    if keep <= 0:
        raise InputError("level", LEVELS[level], "a lower assurance, more points or a surer moisture: nothing is left")
    across = water_activity_at(fitted, found.value, level, "a_w_limit")
    return Limit(a_w, asked, level, found, keep, across, _resampled(fitted, asked, found.value, level))


def _resampled(fitted: Fitted, a_w: float, value: float, level: str) -> Interval:
    low, high = (Curve(fitted["curve"]["a_w"], end).at(a_w) for end in fitted["curve"]["bands"][level])
    return Interval(value, low, high)


def read_level(text: str) -> str:
    """The assurance level of a form."""
    if text not in LEVELS:
        raise InputError("level", text or "nothing", " or ".join(LEVELS.values()))
    return text


def read_a_w_limit(text: str, field: str = "a_w_limit") -> float:
    """An a_w limit as typed."""
    return float(read_a_w(text, field))


def read_guard(text: str) -> float:
    """A guard band in a_w; blank is none."""
    if not text.strip():
        return 0.0
    allowed = "a guard band in a_w, 0 to 0.1"
    number = read_decimal(text, "guard", allowed, thousands_possible=False)
    if not 0 <= number <= Decimal("0.1"):
        raise InputError("guard", text, allowed)
    return float(number)


def read_moisture(text: str, basis: str, field: str = "moisture") -> float:
    """A moisture as typed in its basis, as dry basis."""
    percent, wet = basis.endswith("_percent"), basis.startswith("moisture_wb")
    most = Decimal(1 if wet else 10) * (100 if percent else 1)
    unit = ("g per 100 g" if percent else "kg per kg") + (" as is" if wet else " of dry solids")
    allowed = f"{unit}, greater than 0 and below {most}"
    number = read_decimal(text, field, allowed, thousands_possible=False)
    if not 0 < number < most:
        raise InputError(field, text, allowed)
    fraction = float(number / (100 if percent else 1))
    return float(dry_from_wet(fraction)) if wet else fraction


def read_moisture_u(text: str) -> float:
    """The standard uncertainty of a moisture determination in % wet basis, as a fraction; blank is none."""
    if not text.strip():
        return 0.0
    allowed = "a standard uncertainty in % wet basis, 0 to 5"
    number = read_decimal(text, "moisture_u", allowed, thousands_possible=False)
    if not 0 <= number <= 5:
        raise InputError("moisture_u", text, allowed)
    return float(number) / 100


def same_temperature(asked: str, known: str, field: str) -> list[str]:
    """Why an isotherm does not answer at a temperature; none where it does."""
    typed = float(read_temperature_c(asked, field))
    if abs(typed - float(known)) <= SAME_TEMPERATURE_C / 2:
        return []
    return [f"It was measured at {known} degC; at {typed:g} degC it says nothing."]

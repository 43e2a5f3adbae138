"""What stands on a chart of deviations against time; knows nothing of screen or paper."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from isohume.foundation.quantity.errors import InputError

PointState = Literal["within", "beyond", "void"]


@dataclass(frozen=True, slots=True)
class TimePoint:
    """One deviation at its moment: within its limits, beyond them, or void; what is to be said of it."""

    at: datetime
    value: float
    state: PointState = "within"
    words: str = ""

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise InputError("point.value", self.value, "a finite number")
        _with_zone("point.at", self.at)


@dataclass(frozen=True, slots=True)
class TimeBreak:
    """A dated event after which what went before is not simply comparable: an adjustment, a service, a new bottle."""

    at: datetime
    words: str

    def __post_init__(self) -> None:
        _with_zone("break.at", self.at)


@dataclass(frozen=True, slots=True)
class TimeLimits:
    """The limits of the deviation; either may be missing."""

    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        for limit in (self.low, self.high):
            if limit is not None and not math.isfinite(limit):
                raise InputError("limits", limit, "a finite number")
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise InputError("limits", f"{self.low} to {self.high}", "a low limit below the high limit")


def _with_zone(field: str, at: datetime) -> None:
    if at.tzinfo is None:
        raise InputError(field, at.isoformat(), "a moment with its time zone")

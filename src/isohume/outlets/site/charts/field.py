"""What a picture of a chart shows, read once for every width, and the field in which moments and values stand."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from isohume.foundation.metrology.charts_by_point import ControlChart
from isohume.foundation.metrology.run_rules import Signal
from isohume.outlets.site.charts.seen import Seen
from isohume.outlets.site.charts.series import Look
from isohume.outlets.site.charts.written import Numbers, Tenths, tenths

STATISTIC = {
    "individuals": "",
    "ewma": "weighted moving average of the ",
    "cusum": "cumulative sum of the ",
}


@dataclass(frozen=True, slots=True)
class Field:
    """Where moments and values stand."""

    first: float
    last: float
    low: float
    high: float
    left: float
    right: float
    top: float
    tall: float

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.tall

    def x(self, at_s: float) -> float:
        """Where a moment stands, in seconds."""
        return self.left + (at_s - self.first) / (self.last - self.first) * (self.right - self.left)

    def y(self, value: float) -> float:
        """Where a value stands; one beyond the picture stands at its edge."""
        share = (value - self.low) / (self.high - self.low)
        return self.bottom - min(max(share, 0.0), 1.0) * self.tall

    def across(self, at: Numbers) -> Tenths:
        """Where moments inside the picture stand, in tenths, as a path names it; a year has many."""
        wide = (self.right - self.left) / (self.last - self.first)
        return tenths(self.left - self.first * wide + at * wide)

    def up(self, values: Numbers) -> Tenths:
        """Where values inside the picture stand, in tenths, as a path names it."""
        tall = self.tall / (self.high - self.low)
        return tenths(self.bottom + self.low * tall - values * tall)


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a look shows in its span: `places` of its counted points, and what belongs to each of these.

    at: when, of every counted point of the look, also of those before the span. aside: points that do not count.
    """

    look: Look
    control: ControlChart
    places: range
    at: Sequence[int]
    moments: Numbers
    statistic: Numbers
    lower: Numbers
    upper: Numbers
    ranges: Numbers
    signals: Sequence[Signal]
    aside: Sequence[Seen]
    title: str
    quantity: str
    size: float
    family: str

    def inside(self, places: range) -> slice:
        """Where the numbers of these places stand among those that are shown."""
        return slice(places.start - self.places.start, places.stop - self.places.start)


def drawn_of(look: Look, title: str, size: float, family: str) -> Drawn:
    """What the picture of a look shows that has a chart."""
    control = look.control
    if control is None:
        raise ValueError("a look without a chart has no picture")
    at = look.counted.at_s
    start_s = look.start_s
    start = min(bisect_left(at, start_s), len(at) - 1)
    first = bisect_left(look.points.at_s, start_s)
    limits = np.fromiter(chain.from_iterable(control.limits[start:]), np.float64).reshape(-1, 2)
    return Drawn(
        look=look,
        control=control,
        places=range(start, len(at)),
        at=at,
        moments=np.array(at[start:], dtype=np.float64),
        statistic=np.array(control.statistic[start:], dtype=np.float64),
        lower=limits[:, 0],
        upper=limits[:, 1],
        ranges=np.array(control.ranges[start:], dtype=np.float64),
        signals=look.signals,
        aside=[point for point in look.points[first:] if not point.counted] if len(at) < len(look.points) else [],
        title=title,
        quantity=f"{STATISTIC[control.rules.kind]}{'a_w' if look.chart.product_id else 'deviation, a_w'}",
        size=size,
        family=family,
    )

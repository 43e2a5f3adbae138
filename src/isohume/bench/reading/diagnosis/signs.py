"""The signs that rules look at, measured once: noise, slopes, turns, jumps, temperatures, the room.

Every threshold is in units of the instrument's own scatter, of its repeatability, or of what physics says a cause does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from isohume.bench.reading.settling.criterion import Criterion
from isohume.bench.reading.settling.forecast import Forecast
from isohume.bench.reading.settling.kernels.step import LEAST
from isohume.bench.reading.settling.trace import Array, Trace

QUICK_S = 120.0
"""By then chamber and sensor have followed a quick sample (five times the slowest of them; no source)."""
USUAL_S = 300.0
"""A reading usually takes about five minutes (common practice, no source); slow is twice as long."""
SLOW_S = 2.0 * USUAL_S
LEAST_SURE, SURE_CHANGES = 0.01, 4.0
"""Half of the forecast's interval with which a reading counts as settled: 0.01, or four times the criterion's change
where that is more (no source; traces that come to rest stay below 0.006)."""
REPEATABILITY = 0.0005
"""Within one run, where the laboratory says nothing of its own (no source)."""


@dataclass(frozen=True, slots=True)
class Slope:
    """A straight line through a part of a trace."""

    per_s: float
    u: float

    @property
    def sure(self) -> bool:
        """Whether it is beyond its own scatter; six, because neighbouring readings are alike."""
        return abs(self.per_s) > 6.0 * self.u


@dataclass(frozen=True, slots=True)
class Signs:
    """What was measured of a trace."""

    trace: Trace
    criterion: Criterion
    settled_at: int | None
    forecast: Forecast | None
    settles_after_s: float | None
    ended: bool
    last_digit: Decimal  # of the readings, as they were read or as it was said
    no_forecast: str  # why there is none, in words
    mismatch_limit_k: float  # how far a sample may be from the block's temperature when it is read
    noise: float  # of single readings, from how neighbours differ
    left: float  # scatter about the best law of decay, or about any smooth curve where that fits better
    repeatability: float  # of readings of one portion

    @property
    def matters(self) -> float:
        """A change that counts: the repeatability, or four times the noise."""
        return max(self.repeatability, 4.0 * self.noise)

    @property
    def elapsed_s(self) -> float:
        """How long the run has lasted."""
        return float(self.trace.elapsed_s[-1] - self.trace.elapsed_s[0])

    def part(self, begin: float, end: float) -> tuple[Array, Array]:
        """Times and readings between two moments, in seconds since the run began."""
        t = self.trace.elapsed_s - self.trace.elapsed_s[0]
        inside = (t >= begin) & (t <= end)
        return t[inside], self.trace.a_w[inside]

    def slope(self, begin: float, end: float) -> Slope | None:
        """The slope between two moments; None where there are fewer than six readings."""
        t, y = self.part(begin, end)
        if t.size < 6:
            return None
        x = t - t.mean()
        square = float(x @ x)
        per_s = float(x @ y) / square
        left = y - y.mean() - per_s * x
        scatter = max(math.sqrt(float(left @ left) / (t.size - 2)), 0.3 * self.noise)
        return Slope(per_s, scatter / math.sqrt(square))

    @property
    def rest(self) -> float | None:
        """The reading at which the criterion was first met."""
        return None if self.settled_at is None else float(self.trace.a_w[self.settled_at])

    @property
    def stayed(self) -> bool:
        """Whether it stayed where it met the criterion, and is forecast to stay there."""
        if self.rest is None or self.forecast is None:
            return False
        near = max(float(self.criterion.change), self.matters)
        after = self.trace.a_w[self.settled_at :]
        moved = abs(float(after[-5:].mean()) - self.rest)
        going = max(self.forecast.low - self.rest, self.rest - self.forecast.high, 0.0)
        strays = float(np.abs(after - self.rest).max()) > near + 6.0 * self.noise + 2.0 * float(self.criterion.change)
        return moved <= 2.0 * near and going <= near and not strays

    @property
    def is_over(self) -> bool:
        """Whether a reading would be taken now: the run has ended, or the criterion was met."""
        return self.ended or self.settled_at is not None

    @property
    def is_sure(self) -> bool:
        """Whether the forecast leaves no more open than a settled reading may."""
        widest = max(LEAST_SURE, SURE_CHANGES * float(self.criterion.change))
        return self.forecast is not None and self.forecast.half_width <= widest

    @property
    def is_too_coarse(self) -> bool:
        """Whether the readings' last digit is coarser than what the criterion asks."""
        return not self.criterion.is_shown_by(self.last_digit)

    @property
    def ends_beyond(self) -> bool:
        """Whether there is no forecast because the curve would end beyond 0 to 1."""
        return self.forecast is None and self.trace.n >= LEAST

    @property
    def without_forecast(self) -> str:
        """That there is no forecast, and why."""
        return f"There is no forecast: {self.no_forecast.removeprefix('none: ')}."

    @property
    def last(self) -> float:
        """The mean of the last five readings."""
        return float(self.trace.a_w[-5:].mean())

    @property
    def excess_k(self) -> Array:
        """The sample's temperature over the block's; NaN where either is missing."""
        return self.trace.sample_temperature_c - self.trace.block_temperature_c


def noise_of(values: Array) -> float:
    """Standard deviation of single readings, from second differences: what is smooth does not count.

    The median of the absolute values and not their mean: a jump or a few steep seconds do not count either.
    """
    if values.size < 5:
        return 0.0
    second = np.diff(values, 2)
    return float(np.median(np.abs(second)) / 0.6745 / math.sqrt(6.0))


def smooth_columns(t: Array, end: float) -> Array:
    """What a smooth curve is made of: a cubic, and a first fall of half a minute."""
    x = t / end
    return np.column_stack([np.ones_like(x), x, x**2, x**3, np.exp(-t / 40.0)])


def scatter_about_smooth(trace: Trace) -> float:
    """Scatter of the later half about a smooth curve; infinite where there are too few readings to tell."""
    t = trace.elapsed_s - trace.elapsed_s[0]
    late = t >= 0.5 * t[-1]
    if np.count_nonzero(late) < 12:
        return math.inf
    columns, y = smooth_columns(t[late], float(t[-1])), trace.a_w[late]
    share, *_ = np.linalg.lstsq(columns, y, rcond=None)
    left = y - columns @ share
    return math.sqrt(float(left @ left) / (y.size - 5))

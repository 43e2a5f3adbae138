"""Where a reading will end, with an honest interval, after each sample."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from isohume.bench.reading.settling.kernels.compiled import FAMILY
from isohume.bench.reading.settling.kernels.curve import changes
from isohume.bench.reading.settling.kernels.layout import CORRELATION, SCATTER, new_room
from isohume.bench.reading.settling.kernels.step import LEAST, steps
from isohume.bench.reading.settling.trace import Array, Trace
from isohume.foundation.quantity.errors import InputError

COVERAGE = 0.95
LEAST_A_W, MOST_A_W = 0.0, 1.0
_WIDE = 1.959963984540054
_OWN_DRIFT = 1.5e-7
"""Standard uncertainty of an instrument's own drift within a run, per second: 0.0005 an hour (no source)."""
_FIRST_ROOM = 512
_LATEST_S = 4 * 3600.0


@dataclass(frozen=True, slots=True)
class Forecast:
    """The value a trace will end at, and the interval that holds it with `coverage`.

    No water activity lies below 0 or above 1: an interval that would reach beyond ends there, and `cut` says so.
    """

    value: float
    low: float
    high: float
    coverage: float = COVERAGE

    @property
    def half_width(self) -> float:
        """Half of the interval; its longer side where it is cut: no end within it lies further from the value."""
        longer = max(self.high - self.value, self.value - self.low)
        return longer if self.cut else 0.5 * (self.high - self.low)

    @property
    def cut(self) -> str:
        """Where the interval is cut, in words; empty where it lies within 0 to 1."""
        return " and ".join(f"{end:g}" for end in (self.low, self.high) if end in (LEAST_A_W, MOST_A_W))

    @property
    def u(self) -> float:
        """Its standard uncertainty."""
        return self.half_width / _WIDE


class Forecaster:
    """The forecast of one run, sample by sample; a sample costs the same whether it is the tenth or the thousandth.

    One a run; as many as there are instruments may live in one process, each with a fifth of a megabyte of its own and
    nothing that they share. `take` feeds it what was already there, `update` each new sample.

    resolution: the last digit of the readings [1].
    repeatability: standard deviation of readings of one portion [1]; no interval is narrower than it allows.
    """

    def __init__(self, resolution: float = 1e-4, repeatability: float = 0.0) -> None:
        for name, given in (("resolution", resolution), ("repeatability", repeatability)):
            if not 0.0 <= given <= 0.05:
                raise InputError(name, given, "0 to 0.05 in a_w")
        self.resolution, self.repeatability = resolution, repeatability
        self._room = new_room(resolution, _OWN_DRIFT)
        self._times, self._values = np.empty(_FIRST_ROOM), np.empty(_FIRST_ROOM)
        self._out = np.full((1, 3), math.nan)
        self._now = self._out[0]  # the same three numbers
        self._least = _WIDE * math.hypot(repeatability, resolution / math.sqrt(12.0))
        self._last = -math.inf
        self.n = 0

    def update(self, elapsed_s: float, a_w: float) -> Forecast | None:
        """The forecast after one more sample; None where `why_none` says why.

        elapsed_s: seconds since the run began [s], more than those of the sample before.
        a_w: the reading [1].
        """
        if not elapsed_s > self._last:
            raise InputError("elapsed_s", elapsed_s, f"more than {self._last:g}")
        n = self.n
        self._make_room(n + 1)
        self._times[n], self._values[n] = elapsed_s, a_w
        self._last, self.n = elapsed_s, n + 1
        steps(self._room, self._times, self._values, n + 1, n + 1, self._out)
        return self._forecast(self._now)

    def take(self, elapsed_s: Array, a_w: Array) -> Array:
        """Many samples at once: one row of value, low and high a sample, NaN before the sixth; as computed, uncut."""
        first, last = self.n + 1, self.n + elapsed_s.size
        self._make_room(last)
        self._times[self.n : last], self._values[self.n : last] = elapsed_s, a_w
        rows = np.full((elapsed_s.size, 3), math.nan)
        steps(self._room, self._times, self._values, first, last, rows)
        self.n = last
        if rows.size:
            self._out[:], self._last = rows[-1:], float(elapsed_s[-1])
        return rows

    @property
    def forecast(self) -> Forecast | None:
        """The present forecast; None where `why_none` says why."""
        return self._forecast(self._now)

    @property
    def why_none(self) -> str:
        """Why there is no forecast, in words; empty where there is one."""
        if self.forecast is not None:
            return ""
        if self.n < LEAST:
            return "none before the sixth reading"
        return f"none: the curve would end at {self._now[0]:.4f}, and no water activity lies beyond 0 to 1"

    @property
    def noise(self) -> float:
        """Standard deviation of single readings about the best law."""
        return math.sqrt(self._room.scalars[SCATTER])

    @property
    def independent_share(self) -> float:
        """What a reading is worth against an independent one: (1 - rho)/(1 + rho)."""
        return float(self._room.scalars[CORRELATION])

    def settles_after(self, change: float, window_s: float) -> float | None:
        """Seconds since the run began after which the best law moves by less than `change` in `window_s`.

        change: in a_w [1].  window_s: the window [s].  None before the sixth sample; infinite beyond four hours.
        """
        if self.n < LEAST:
            return None
        begin = self._times[0]
        now = self._times[self.n - 1] - begin
        grid = np.append(now, np.geomspace(max(window_s, 1.0), _LATEST_S, 400))
        ahead = np.sort(grid[grid >= now])
        moved = np.empty_like(ahead)
        changes(self._room, ahead, window_s, moved)
        small = np.abs(moved) <= change
        return float(ahead[np.argmax(small)] + begin) if small.any() else math.inf

    def _forecast(self, out: Array) -> Forecast | None:
        value, low, high = out.tolist()
        rounding = 0.5 * self.resolution  # an end that is read as 0 or as 1 is none beyond it
        if math.isnan(value) or not LEAST_A_W - rounding <= value <= MOST_A_W + rounding:
            return None
        least = self._least
        low, high = value - math.hypot(value - low, least), value + math.hypot(high - value, least)
        return Forecast(*(min(max(end, LEAST_A_W), MOST_A_W) for end in (value, low, high)))

    def _make_room(self, n: int) -> None:
        if n > self._times.size:
            more = np.empty(max(n, 2 * self._times.size))
            self._times = np.concatenate((self._times[: self.n], more))
            self._values = np.concatenate((self._values[: self.n], more))


def forecasts(trace: Trace, resolution: float = 1e-4, repeatability: float = 0.0) -> list[Forecast | None]:
    """The forecast after each reading of a trace.

        a weighted mixture over laws of decay and their coordinates; see kernels/decays.py
    trace: the readings [1].
    resolution: the last digit of the readings [1].
    repeatability: standard deviation of readings of one portion [1].
    Returns: one Forecast a reading [1], None before the sixth and where the curve would end beyond 0 to 1.
    Raises: InputError for a resolution or repeatability out of range.
    Source: none; its coverage is in docs/proof/settling.md.
    """
    forecaster = Forecaster(resolution, repeatability)
    return [forecaster._forecast(row) for row in forecaster.take(trace.elapsed_s, trace.a_w)]


def forecast_is_ready() -> bool:
    """Whether the forecast's kernels were compiled on this computer before.

        True once a forecast was made with this version of isohume
    Returns: True or False.
    Source: none (a state of this computer).
    """
    return FAMILY.are_ready("forecast")


def prepare_forecast() -> None:
    """Compiles the forecast's kernels where that was not done yet.

        each kernel is run once on a short trace
    Returns: nothing.
    Source: none (a state of this computer).
    """
    forecaster = Forecaster()
    times = np.arange(12.0)
    forecaster.take(times, 0.5 - 0.1 * np.exp(-times / 5.0))
    forecaster.update(12.0, 0.5)
    forecaster.settles_after(1e-3, 10.0)
    FAMILY.mark_ready("forecast")

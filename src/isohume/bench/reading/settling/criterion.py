"""When a method takes a reading as settled: a change per time window, judged on the decimals as they were read.

A reading with the last digit q stands for anything within q/2 of it. Readings that are alike show a change of no more
than q: a criterion finer than that no such readings can meet, however long they stay alike.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.reading.settling.trace import Trace
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal

LARGEST_CHANGE = Decimal("0.05")
LONGEST_WINDOW_S = Decimal(3600)
ALLOWED = "a change and a window in seconds such as 0.0005/60: up to 0.05 in a_w, up to 3600 s"


@dataclass(frozen=True, slots=True)
class Criterion:
    """A reading is settled when it changes by no more than `change` within `window_s` seconds."""

    change: Decimal
    window_s: Decimal

    @property
    def words(self) -> str:
        """As a method says it."""
        return f"change of at most {self.change} in {self.window_s} s"

    def is_shown_by(self, last_digit: Decimal) -> bool:
        """Whether readings with this last digit can show that it is met: three that are alike changed by no more."""
        return last_digit <= self.change


DEFAULT_CRITERION = Criterion(Decimal("0.0005"), Decimal(60))


def read_criterion(text: str) -> Criterion:
    """The criterion from its text.

        change/window, such as 0.0005/60
    text: change in a_w and window in seconds [text].
    Returns: the Criterion [1, s].
    Raises: InputError for another form, or a change or window that is zero, negative or beyond use.
    Example: "0.0005/60": a change of at most 0.0005 in 60 s.
    Source: none (a method states its own).
    """
    change_text, slash, window_text = text.partition("/")
    if not slash:
        raise InputError("criterion", text, ALLOWED)
    change, window = (read_decimal(part, "criterion", ALLOWED) for part in (change_text, window_text))
    if not (0 < change <= LARGEST_CHANGE and 0 < window <= LONGEST_WINDOW_S):
        raise InputError("criterion", text, ALLOWED)
    return Criterion(change, window)


def settled_at(trace: Trace, criterion: Criterion = DEFAULT_CRITERION, resolution: Decimal | None = None) -> int | None:
    """The first reading at which a trace met the criterion.

        max - min of the readings one window before, half a window before and now <= change,  last digit <= change
    trace: the readings [1].
    criterion: what the method asks [1, s].
    resolution: the last digit of the readings where it is coarser than the finest one read [1].
    Returns: the position of the reading from 0 [1], None where none did. The reading one window before is the last one
        taken at least a window ago. Three readings and not two: at the top of an overshoot two are alike; with
        readings further apart than half a window nothing is settled, nor with a last digit beyond the change.
    Source: none (a method states its own).
    """
    if not criterion.is_shown_by(max(resolution or Decimal(0), trace.last_digit)):
        return None
    times = [Decimal(repr(float(t))) for t in trace.elapsed_s]
    for now in range(1, trace.n):
        before = bisect_right(times, times[now] - criterion.window_s, 0, now) - 1
        if before < 0:
            continue
        between = bisect_right(times, times[now] - criterion.window_s / 2, 0, now) - 1
        if not before < between:
            continue  # readings so far apart cannot tell rest from the top of an overshoot
        three = (trace.typed[before], trace.typed[between], trace.typed[now])
        if max(three) - min(three) <= criterion.change:
            return now
    return None

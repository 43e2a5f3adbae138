"""The method's criterion judged reading by reading while a run goes on: what `settled_at` says, a step each."""

from __future__ import annotations

from decimal import Decimal

from isohume.bench.reading.settling.criterion import Criterion


class CriterionSoFar:
    """`found` is the position of the first reading that met the criterion; once found it stays."""

    def __init__(self, criterion: Criterion) -> None:
        self.criterion = criterion
        self.found: int | None = None
        self._half = criterion.window_s / 2
        self._times: list[Decimal] = []
        self._typed: list[Decimal] = []
        self._before = self._between = -1  # the last readings at least a window, and half a window, ago

    def take(self, elapsed_s: float, typed: Decimal) -> None:
        """One more reading.

        elapsed_s: seconds since the run began [s], more than those of the reading before. typed: the reading [1].
        """
        if self.found is not None:
            return
        now, time = len(self._times), Decimal(repr(float(elapsed_s)))
        self._times.append(time)
        self._typed.append(typed)
        self._before = self._last_by(time - self.criterion.window_s, self._before)
        self._between = self._last_by(time - self._half, self._between)
        if not 0 <= self._before < self._between < now:
            return
        three = (self._typed[self._before], self._typed[self._between], typed)
        if max(three) - min(three) <= self.criterion.change:
            self.found = now

    def _last_by(self, moment: Decimal, place: int) -> int:
        """The last reading taken by a moment; moments only grow, so the place only moves on."""
        while place + 1 < len(self._times) - 1 and self._times[place + 1] <= moment:
            place += 1
        return place

"""The method's criterion judged reading by reading while a run goes on: what `settled_at` says, a step each."""

from __future__ import annotations

from decimal import Decimal

from isohume.bench.reading.settling.criterion import Criterion
from isohume.bench.reading.settling.trace import last_place


class CriterionSoFar:
    """Takes the readings one by one; the first one that met the criterion stays found.

    Some instruments leave trailing zeros away: how fine their last digit is shows by and by, and what was alike before
    counts as soon as it is known to be fine enough.
    """

    def __init__(self, criterion: Criterion) -> None:
        self.criterion = criterion
        self._alike: int | None = None
        self._last_place = 0
        self._half = criterion.window_s / 2
        self._times: list[Decimal] = []
        self._typed: list[Decimal] = []
        self._before = self._between = -1  # the last readings at least a window, and half a window, ago

    @property
    def found(self) -> int | None:
        """The position of the first reading that met the criterion; None while the last digit is too coarse for it."""
        return None if self.is_too_coarse else self._alike

    @property
    def is_too_coarse(self) -> bool:
        """Whether the last digit of the readings so far is coarser than what the criterion asks."""
        return not self.criterion.is_shown_by(Decimal(1).scaleb(self._last_place))

    def take(self, elapsed_s: float, typed: Decimal) -> None:
        """One more reading.

        elapsed_s: seconds since the run began [s], more than those of the reading before. typed: the reading [1].
        """
        self._last_place = min(self._last_place, last_place(typed))
        if self._alike is not None:
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
            self._alike = now

    def _last_by(self, moment: Decimal, place: int) -> int:
        """The last reading taken by a moment; moments only grow, so the place only moves on."""
        while place + 1 < len(self._times) - 1 and self._times[place + 1] <= moment:
            place += 1
        return place

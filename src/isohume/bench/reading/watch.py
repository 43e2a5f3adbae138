"""One run watched while it grows: what it reads, where it will end, whether it has settled, what is wrong with it.

Each reading is taken once. The forecast and the criterion cost the same at the thousandth reading as at the tenth; the
rules of the diagnosis look at the whole trace, so they are asked every few seconds only.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal

import numpy as np

from isohume.bench.reading.diagnosis.diagnose import TraceJudged, judge_so_far
from isohume.bench.reading.diagnosis.signs import REPEATABILITY
from isohume.bench.reading.settling.compact import Sample
from isohume.bench.reading.settling.criterion import Criterion
from isohume.bench.reading.settling.criterion_so_far import CriterionSoFar
from isohume.bench.reading.settling.forecast import Forecast, Forecaster
from isohume.bench.reading.settling.trace import COARSEST, Array, Trace, last_place
from isohume.bench.reading.warm_sample import MISMATCH_LIMIT_K

JUDGE_EVERY_S = 5.0
"""Seconds of the run between two looks of the rules (no source; a person reads no faster)."""
AT_ONCE = 10
"""Readings that came at once: what is said of so many more stands as if it had been said on the way too."""
RECENT = 60
"""Readings in which a temperature still counts as the present one."""
WRONG = frozenset(
    ("warm sample", "cold sample", "condensation", "leak", "volatile", "unfamiliar", "stopped early"),
)
"""Diagnoses that spoil a reading; a slow sample only takes its time."""


class Watch:
    """A run so far. `look` brings forecast and diagnosis up to the last reading; without it only readings are kept."""

    def __init__(
        self,
        criterion: Criterion,
        repeatability: float = REPEATABILITY,
        mismatch_limit_k: float = MISMATCH_LIMIT_K,
    ) -> None:
        self.criterion = criterion
        self.repeatability = repeatability
        self.mismatch_limit_k = mismatch_limit_k
        self.last: Sample | None = None
        self.judged: TraceJudged | None = None
        self._columns: tuple[list[float], ...] = ([], [], [], [], [])
        self._typed: list[Decimal] = []
        self._met = CriterionSoFar(criterion)
        self._forecaster: Forecaster | None = None
        self._last_place = 0
        self._judged_as: tuple[bool, bool] = (False, False)
        self._seen: list[str] = []  # the last two diagnoses

    @property
    def n(self) -> int:
        """How many readings."""
        return len(self._typed)

    @property
    def met_at_s(self) -> float | None:
        """When the criterion was first met, seconds since the run began; None where it was not."""
        return None if self._met.found is None else self._columns[0][self._met.found]

    @property
    def value(self) -> Decimal | None:
        """The reading at which it settled, as it was read; None where it has not settled."""
        return self._typed[self._met.found] if self.settled and self._met.found is not None else None

    @property
    def settled(self) -> bool:
        """Whether it met the criterion, stayed there, and nothing spoils it."""
        return self.judged is not None and self.judged.settled

    @property
    def forecast(self) -> Forecast | None:
        """Where it will end; None before the sixth reading, or before anybody looked."""
        return None if self._forecaster is None else self._forecaster.forecast

    @property
    def wrong(self) -> bool:
        """Whether something spoils it: said twice in a row, or once of a run that has ended."""
        if self.judged is None or self.judged.finding.diagnosis not in WRONG:
            return False
        return self._judged_as[1] or self._seen == [self.judged.finding.diagnosis] * 2

    @property
    def seconds_left(self) -> float | None:
        """Seconds until it settles at this pace; None where nothing can be said, infinite beyond four hours.

        Readings coarser than the criterion never settle by it.
        """
        if self._forecaster is None or self.last is None or self.settled or self._met.is_too_coarse:
            return None
        after = self._forecaster.settles_after(float(self.criterion.change), float(self.criterion.window_s))
        return None if after is None else max(after - float(self.last.elapsed_s), 0.0)

    @property
    def difference_k(self) -> float | None:
        """The sample's temperature over the block's at the last reading that has both."""
        sample, block = (column[-RECENT:] for column in self._columns[2:4])
        known = [one - other for one, other in zip(sample, block, strict=True) if not math.isnan(one - other)]
        return known[-1] if known else None

    def points(self, since: int = 0) -> list[tuple[float, float]]:
        """Times and readings from a position on, for a picture."""
        return list(zip(self._columns[0][since:], self._columns[1][since:], strict=True))

    def take(self, samples: Iterable[Sample]) -> None:
        """Readings in the order in which they came; one whose time did not grow cannot be judged and is left out."""
        times = self._columns[0]
        for one in samples:
            if times and float(one.elapsed_s) <= times[-1]:
                continue
            self.last = one
            self._typed.append(one.a_w)
            for column, number in zip(self._columns, one[:5], strict=True):
                column.append(math.nan if number is None else float(number))
            self._met.take(times[-1], one.a_w)
            self._last_place = min(self._last_place, last_place(one.a_w))

    def judge_by(self, criterion: Criterion, mismatch_limit_k: float | None = None) -> None:
        """Another criterion from now on, and another limit: the run turned out to be of another method."""
        if mismatch_limit_k is not None and mismatch_limit_k != self.mismatch_limit_k:
            self.mismatch_limit_k, self.judged = mismatch_limit_k, None
        if criterion != self.criterion:
            self.criterion, self._met, self.judged = criterion, CriterionSoFar(criterion), None
            for time, typed in zip(self._columns[0], self._typed, strict=True):
                self._met.take(time, typed)

    def look(self, ended: bool = False) -> None:
        """The forecast after the last reading; the rules too, where they are due.

        ended: whether the run is over [1].
        """
        if self.last is None:
            return
        forecaster = self._caught_up()
        if self._is_due(ended):
            self._judge(forecaster, ended)

    def _caught_up(self) -> Forecaster:
        resolution = float(min(Decimal(1).scaleb(self._last_place), COARSEST))
        if self._forecaster is None or self._forecaster.resolution != resolution:
            self._forecaster = Forecaster(resolution, self.repeatability)
        done, times, values = self._forecaster.n, self._columns[0], self._columns[1]
        if self.n - done == 1:
            self._forecaster.update(times[done], values[done])
        elif self.n > done:
            self._forecaster.take(np.array(times[done:]), np.array(values[done:]))
        return self._forecaster

    def _is_due(self, ended: bool) -> bool:
        if self.judged is None or self._judged_as != (self._met.found is not None, ended):
            return True
        since = self._columns[0][-1] - self._columns[0][self.judged.n - 1]
        return since >= JUDGE_EVERY_S or (ended and self.judged.n < self.n)

    def _judge(self, forecaster: Forecaster, ended: bool) -> None:
        found, before = self._met.found, self.judged.n if self.judged else 0
        trace, limit_k = self._trace(), self.mismatch_limit_k
        self.judged = judge_so_far(trace, forecaster, found, self.criterion, ended, limit_k)
        self._judged_as = (found is not None, ended)
        said = self.judged.finding.diagnosis
        self._seen = [said, said] if self.n - before >= AT_ONCE else [*self._seen[-1:], said]

    def _trace(self) -> Trace:
        times, values, *others = (_array(column) for column in self._columns)
        return Trace(times, values, tuple(self._typed), *others)


def _array(column: list[float]) -> Array:
    return np.array(column, dtype=float)

"""A failed check looks back: which readings nothing protects any more, since the last check that passed.

A check protects a reading where it passed after it, on references about it. A void check protects nothing, nor does
one that passed on fewer than two references: it covers no range.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from isohume.foundation.quantity.errors import InputError

TEMPERATURES = 0.004
"""How far the values of one solution move between checks of one bench: NaBr -0.0031 a degC, the steepest [a_w]."""


@dataclass(frozen=True, slots=True)
class ReferenceInCheck:
    """A reference solution of a check: what it should read, and whether it was within the limit."""

    name: str
    a_w: float
    within: bool


@dataclass(frozen=True, slots=True)
class PastCheck:
    """A check as the look-back needs it; `covers` is the range of the references that passed."""

    id: int
    kind: str
    first_read_at: datetime
    last_read_at: datetime
    passed: bool
    covers: tuple[float, float] | None
    void: bool = False

    @property
    def protects(self) -> bool:
        """Whether it protects any reading at all."""
        return self.passed and not self.void and self.covers is not None


@dataclass(frozen=True, slots=True)
class Window:
    """The readings a failed check puts at risk: when, and at which a_w.

    references: of the failed check, in order of a_w. before, after: passing checks around it, nearest first; `before`
    reaches back as far as it takes to cover the range that failed. not_before: the instrument's scale was changed
    then, after a check of its own that answers for what was read before.
    """

    failed: PastCheck
    references: tuple[ReferenceInCheck, ...]
    before: tuple[PastCheck, ...]
    after: tuple[PastCheck, ...] = ()
    not_before: datetime | None = None

    @property
    def since(self) -> datetime | None:
        """From when on something may be at risk; None where no earlier check covers the range that failed."""
        if not self.before or uncovered(self.failed_ranges, self.before):
            return self.not_before
        good = self.before[-1].first_read_at
        return good if self.not_before is None else max(good, self.not_before)

    @property
    def last_good(self) -> PastCheck | None:
        """The passing check before the failed one."""
        return self.before[0] if self.before else None

    @property
    def until(self) -> datetime | None:
        """Until when something may be at risk: the next check that covers the range; None where there is none yet."""
        if not self.after or uncovered(self.failed_ranges, self.after):
            return None
        return self.after[-1].last_read_at

    @property
    def failed_ranges(self) -> tuple[tuple[float, float], ...]:
        """The stretches between neighbouring references of which one or both were not within."""
        return failed_ranges(self.references)

    def in_failed_range(self, a_w: float) -> bool:
        """Whether a value lies where the check failed; between two references that were within, it was true."""
        below = [r for r in self.references if r.a_w <= a_w]
        above = [r for r in self.references if r.a_w >= a_w]
        about = [*below[-1:], *above[:1]]
        return not all(r.within for r in about)

    def last_good_for(self, a_w: float) -> PastCheck | None:
        """The last check before the failed one that passed about a value."""
        return next((check for check in self.before if _covers(check, self._asked(a_w))), None)

    def next_good_for(self, a_w: float) -> PastCheck | None:
        """The first check after the failed one that passed about a value."""
        return next((check for check in self.after if _covers(check, self._asked(a_w))), None)

    def puts_at_risk(self, a_w: float, read_at: datetime) -> bool:
        """Whether a reading on the instrument has lost its protection by the failed check."""
        return self.in_failed_range(a_w) and self.holds(a_w, read_at)

    def holds(self, a_w: float, read_at: datetime) -> bool:
        """Whether a reading lies between the checks that passed about its value, whatever its range."""
        if self.not_before is not None and read_at <= self.not_before:
            return False
        good, following = self.last_good_for(a_w), self.next_good_for(a_w)
        # who reads while a check is read stands on neither side of it: that is on the side of risk, at both ends
        return not (good is not None and read_at <= good.first_read_at) and not (
            following is not None and read_at >= following.last_read_at
        )

    def _asked(self, a_w: float) -> float:
        """A value beyond the outermost reference asks for a check that covers that reference."""
        return min(max(a_w, self.references[0].a_w), self.references[-1].a_w)


def window_of(
    failed: PastCheck,
    references: Iterable[ReferenceInCheck],
    others: Iterable[PastCheck],
    not_before: datetime | None = None,
) -> Window:
    """The window of a failed check, from the checks of its instrument.

        at risk: last passing check about the value < reading < next passing check about the value
    failed: the failed check [text], not void.
    references: its reference solutions with what they should read [1], at least one.
    others: checks of the same instrument in any order [text]; those that do not protect are passed over.
    not_before: a change of the instrument's scale [time] before which another check answers; None where there is none.
    Returns: the Window [text].
    Raises: InputError where the check did not fail, is void, or has no references.
    Example: passed Tue 06:05, failed Wed 06:10 -> everything read between; with a closing check Tue 15:30, nothing.
    Source: ISO17025, 6.4.9 and 7.10.
    """
    if failed.passed or failed.void:
        what = "void" if failed.void else "passed"
        raise InputError("check", f"{failed.id} ({what})", "a failed check that is not void: only that looks back")
    ordered = tuple(sorted(references, key=lambda r: r.a_w))
    if not ordered:
        raise InputError("check", f"{failed.id} without references", "a failed check with its references")
    if all(r.within for r in ordered):  # it failed for another reason than one reference: then it failed everywhere
        ordered = tuple(ReferenceInCheck(r.name, r.a_w, False) for r in ordered)
    protecting = [check for check in others if check.protects and check.id != failed.id]
    before = sorted(
        (check for check in protecting if check.last_read_at < failed.first_read_at),
        key=lambda check: check.last_read_at,
        reverse=True,
    )
    # one that passed among the readings of the failed one does not outvote it
    after = sorted(
        (check for check in protecting if check.first_read_at > failed.last_read_at),
        key=lambda check: check.last_read_at,
    )
    ranges = failed_ranges(ordered)
    return Window(failed, ordered, _enough(ranges, before), _enough(ranges, after), not_before)


def failed_ranges(references: Sequence[ReferenceInCheck]) -> tuple[tuple[float, float], ...]:
    """The stretches between neighbouring references of which one or both were not within.

    references: in order of a_w [1]; a single one is a stretch without length.
    Returns: (from, to) of each stretch [1], lowest first.
    Source: none.
    """
    if len(references) == 1:
        return ((references[0].a_w, references[0].a_w),)
    pairs = pairwise(references)
    return tuple((low.a_w, high.a_w) for low, high in pairs if not (low.within and high.within))


def uncovered(ranges: Iterable[tuple[float, float]], checks: Iterable[PastCheck]) -> list[tuple[float, float]]:
    """What checks that passed leave uncovered of some ranges.

    ranges: (from, to) [1]. checks: those without a range cover nothing [text].
    Returns: the stretches that no check covers [1], the width of one solution at two temperatures forgiven.
    Source: none.
    """
    left = list(ranges)
    for check in checks:
        if check.covers is None:
            continue
        low, high = check.covers[0] - TEMPERATURES, check.covers[1] + TEMPERATURES
        left = [part for start, end in left for part in _cut(start, end, low, high)]
    return left


def _cut(start: float, end: float, low: float, high: float) -> list[tuple[float, float]]:
    """What of start to end lies outside low to high."""
    if high < start or low > end:
        return [(start, end)]
    return [(a, b) for a, b in ((start, low), (high, end)) if a < b]


def _enough(ranges: Iterable[tuple[float, float]], nearest_first: Sequence[PastCheck]) -> tuple[PastCheck, ...]:
    """The nearest checks until the ranges are covered; the whole list where they never are."""
    taken: list[PastCheck] = []
    left = list(ranges)
    for check in nearest_first:
        taken.append(check)
        left = uncovered(left, (check,))
        if not left:
            break
    return tuple(taken)


def _covers(check: PastCheck, a_w: float) -> bool:
    if check.covers is None:
        return False
    return check.covers[0] - TEMPERATURES <= a_w <= check.covers[1] + TEMPERATURES

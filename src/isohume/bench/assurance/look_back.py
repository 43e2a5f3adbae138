"""A failed check looks back: which readings nothing protects any more, since the last check that passed.

A check protects a reading where it passed after it, under the same method, on references that bracket it. A void check
protects nothing, nor does one that passed on fewer than two references: it covers no range.

Why under the same method: a method sets the temperature of the block and when a reading is taken. That an instrument
told the truth at 40 degC, or after a long wait, does not show that it did so at 25 degC, or quickly. What does not let
an instrument measure under a method (see the gate) cannot protect what was read under it either. A failed check is the
other way round: it speaks against every reading of its instrument, because a smeared sensor knows no methods.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

from isohume.foundation.quantity.errors import InputError

TEMPERATURES = 0.004
"""How far the values of one solution move between checks of one bench: NaBr -0.0031 a degC, the steepest [a_w]."""


@dataclass(frozen=True, slots=True)
class ReferenceInCheck:
    """A reference solution of a check: what it should read, whether it was within the limit, how far it was off.

    deviation: on the scale that the check was judged on, corrected where a correction was in force.
    """

    name: str
    a_w: float
    within: bool
    deviation: float = 0.0

    @property
    def read(self) -> float:
        """What the instrument read there."""
        return self.a_w + self.deviation


@dataclass(frozen=True, slots=True)
class PastReading:
    """A reading as the look-back needs it: its value as it was stated, when, under which method, on which scale.

    scale: the correction that was in force, in words or by its key; empty where the value is as read.
    """

    a_w: float
    read_at: datetime
    method: int = 0
    scale: str = ""


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
    method: int = 0

    @property
    def protects(self) -> bool:
        """Whether it protects any reading at all."""
        return self.passed and not self.void and self.covers is not None


@dataclass(frozen=True, slots=True)
class Window:
    """The readings a failed check puts at risk: when, and at which a_w.

    references: of the failed check, in order of a_w; without any it failed everywhere. before, after: passing checks
    around it, nearest first, of every method; `before` reaches back as far as it takes to cover the range that failed.
    not_before: the instrument's scale was changed then, after a check of its own that answers for what was read before.
    scale: the correction that the failed check was judged with.
    """

    failed: PastCheck
    references: tuple[ReferenceInCheck, ...]
    before: tuple[PastCheck, ...]
    after: tuple[PastCheck, ...] = ()
    not_before: datetime | None = None
    scale: str = ""

    @property
    def since(self) -> datetime | None:
        """From when on something read under the method of the failed check may be at risk; None: from the beginning."""
        return self.since_of(self.failed.method)

    @property
    def until(self) -> datetime | None:
        """Until when something read under its method may be at risk; None where no check covers the range yet."""
        return self.until_of(self.failed.method)

    @property
    def methods(self) -> tuple[int, ...]:
        """The methods of the checks about it, that of the failed one first."""
        return tuple(dict.fromkeys((self.failed.method, *(c.method for c in (*self.before, *self.after)))))

    def since_of(self, method: int) -> datetime | None:
        """From when on a reading under a method may be at risk; None where no earlier check covers the range."""
        good = _that_covers(self._asked_ranges(method), self.good_before(method))
        if good is None:
            return self.not_before
        return good.first_read_at if self.not_before is None else max(good.first_read_at, self.not_before)

    def until_of(self, method: int) -> datetime | None:
        """Until when a reading under a method may be at risk: the next check that covers the range."""
        good = _that_covers(self._asked_ranges(method), self.good_after(method))
        return None if good is None else good.last_read_at

    def good_before(self, method: int) -> tuple[PastCheck, ...]:
        """The passing checks of a method before it, nearest first."""
        return tuple(check for check in self.before if check.method == method)

    def good_after(self, method: int) -> tuple[PastCheck, ...]:
        """The passing checks of a method after it, nearest first."""
        return tuple(check for check in self.after if check.method == method)

    @property
    def last_good(self) -> PastCheck | None:
        """The passing check before the failed one, under its method."""
        return next(iter(self.good_before(self.failed.method)), None)

    @property
    def failed_ranges(self) -> tuple[tuple[float, float], ...]:
        """The stretches between neighbouring references of which one or both were not within."""
        return failed_ranges(self.references)

    def in_failed_range(self, reading: PastReading) -> bool:
        """Whether a value may be wrong by what the check showed; true is only what two passing neighbours bracket.

        Bracketed by what they read, not by what they should have read: value and references then stand on one scale.
        A value stated on another scale, with a correction or without, is not confirmed by references on this one.
        """
        if reading.scale != self.scale:
            return True
        pairs = pairwise(self.references)
        return not any(low.within and high.within and low.read <= reading.a_w <= high.read for low, high in pairs)

    def last_good_for(self, reading: PastReading) -> PastCheck | None:
        """The last check before the failed one that passed about a reading, under its method."""
        return self._about(reading, self.before)

    def next_good_for(self, reading: PastReading) -> PastCheck | None:
        """The first check after the failed one that passed about a reading, under its method."""
        return self._about(reading, self.after)

    def puts_at_risk(self, reading: PastReading) -> bool:
        """Whether a reading on the instrument has lost its protection by the failed check."""
        return self.in_failed_range(reading) and self.holds(reading)

    def holds(self, reading: PastReading) -> bool:
        """Whether a reading lies between the checks that passed about its value, whatever its range."""
        read_at = reading.read_at
        if self.not_before is not None and read_at <= self.not_before:
            return False
        good, following = self.last_good_for(reading), self.next_good_for(reading)
        # who reads while a check is read stands on neither side of it: that is on the side of risk, at both ends
        return not (good is not None and read_at <= good.first_read_at) and not (
            following is not None and read_at >= following.last_read_at
        )

    def _about(self, reading: PastReading, checks: Iterable[PastCheck]) -> PastCheck | None:
        asked = reading.a_w
        if (spoken := self._spoken(reading.method)) is not None:
            asked = min(max(asked, spoken[0]), spoken[1])
        own = (check for check in checks if check.method == reading.method)
        return next((check for check in own if _covers(check, asked)), None)

    def _spoken(self, method: int) -> tuple[float, float] | None:
        """What the failed check and the last opening check before it had references for, lowest and highest.

        A value beyond both was never bracketed by more than that: it asks for a check that covers the outermost one.
        """
        known = [reference.a_w for reference in self.references]
        opened = _opening_of(self.good_before(method))
        known += [] if opened is None or opened.covers is None else opened.covers
        return (min(known), max(known)) if known else None

    def _asked_ranges(self, method: int) -> tuple[tuple[float, float], ...]:
        """What checks must cover for nothing further off to be at risk."""
        return _asked_ranges(self.references, self._spoken(method))


def window_of(
    failed: PastCheck,
    references: Iterable[ReferenceInCheck],
    others: Iterable[PastCheck],
    not_before: datetime | None = None,
    scale: str = "",
) -> Window:
    """The window of a failed check, from the checks of its instrument.

        at risk: last passing check about the value < reading < next passing check about the value
    failed: the failed check [text], not void.
    references: its reference solutions with what they should read [1]; without any it counts as failed everywhere.
    others: checks of the same instrument in any order [text]; those that do not protect are passed over.
    not_before: a change of the instrument's scale [time] before which another check answers; None where there is none.
    scale: the correction that the failed check was judged with [text]; empty where it was judged as read.
    Returns: the Window [text].
    Raises: InputError where the check did not fail, or is void.
    Example: passed Tue 06:05, failed Wed 06:10 -> everything read between; with a closing check Tue 15:30, nothing.
    Source: ISO17025, 6.4.9 and 7.10.
    """
    if failed.passed or failed.void:
        what = "void" if failed.void else "passed"
        raise InputError("check", f"{failed.id} ({what})", "a failed check that is not void: only that looks back")
    ordered = tuple(sorted(references, key=lambda r: r.a_w))
    if all(r.within for r in ordered):  # it failed for another reason than one reference: then it failed everywhere
        ordered = tuple(replace(r, within=False) for r in ordered)
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
    return _trimmed(Window(failed, ordered, tuple(before), tuple(after), not_before, scale))


def _trimmed(window: Window) -> Window:
    """Only the nearest checks of each method, until its range is covered and its last opening check is among them."""
    kept: set[int] = set()
    for method in window.methods:
        ranges, good = window._asked_ranges(method), window.good_before(method)
        opened = _opening_of(good)
        kept |= {check.id for check in _enough(ranges, good)} | ({opened.id} if opened else set())
        kept |= {check.id for check in _enough(ranges, window.good_after(method))}
    return replace(
        window,
        before=tuple(check for check in window.before if check.id in kept),
        after=tuple(check for check in window.after if check.id in kept),
    )


def _opening_of(nearest_first: Sequence[PastCheck]) -> PastCheck | None:
    """The last opening check, which said in which range the instrument may speak."""
    return next((check for check in nearest_first if check.kind == "opening"), next(iter(nearest_first), None))


def _asked_ranges(
    references: Sequence[ReferenceInCheck], spoken: tuple[float, float] | None
) -> tuple[tuple[float, float], ...]:
    if spoken is None:
        return ()
    if not references:
        return (spoken,)
    # what lies beyond is asked of the ends, also where the failed check's own outermost reference is the end
    return ((spoken[0], references[0].a_w), *failed_ranges(references), (references[-1].a_w, spoken[1]))


def _that_covers(ranges: Sequence[tuple[float, float]], nearest_first: Iterable[PastCheck]) -> PastCheck | None:
    """The check with which ranges are covered, going away from the failed one; None where they never are."""
    left = list(ranges)
    for check in nearest_first:
        left = uncovered(left, (check,))
        if not left:
            return check
    return None


def failed_ranges(references: Sequence[ReferenceInCheck]) -> tuple[tuple[float, float], ...]:
    """The stretches between neighbouring references of which one or both were not within.

    references: in order of a_w [1]; a single one is a stretch without length, none give none.
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

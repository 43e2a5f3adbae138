"""While a failure is open: which check answers it, and why a check that passed does not.

A check that reads other references than those that failed says nothing of the failure; nor does one that began before
the failed check had ended. Both would let an instrument measure that was never shown to be right again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class CheckFact:
    """A check as the sequence sees it: when, whether it lets the instrument measure, which lots of which solution.

    One that passes and lets nothing be measured (a closing check, one reference alone) neither ends it nor fails.
    `within` are the solutions that were judged within, `failing` those that were not.
    """

    name: str
    first_read_at: datetime
    last_read_at: datetime
    lets_measure: bool
    lots: frozenset[tuple[str, str]]
    failed: bool = True
    within: frozenset[str] = frozenset()
    failing: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Answer:
    """What a check says to an open failure: what it left out, which failed check it began beside, does it count."""

    left_out: frozenset[str] = frozenset()
    beside: str = ""
    counts: bool = False


def answers(checks: Iterable[CheckFact]) -> Iterator[Answer]:
    """What each check says to the failure that is open when it is read.

        a check counts where it lets the instrument measure, began after every failed check before it had ended, and
        was within at every solution that failed since the last one that counted
    checks: the checks of one instrument, in the order of their last readings, failed ones first [time].
    Returns: an Answer for each check [text].
    Example: NaCl failed; a check of Mg(NO3)2 and KCl passes -> it left out NaCl, and does not count.
    Source: ISO17025, 6.4.9 (out of service until verified to perform correctly; by which references: no source).
    """
    failing: frozenset[str] = frozenset()
    last_failed: CheckFact | None = None
    for check in checks:
        if check.failed:
            failing |= check.failing
            if last_failed is None or check.last_read_at >= last_failed.last_read_at:
                last_failed = check
        if check.failed or not check.lets_measure:
            yield Answer()
            continue
        beside = last_failed is not None and check.first_read_at <= last_failed.last_read_at
        name = last_failed.name if beside and last_failed is not None else ""
        left_out = failing - check.within
        counts = not left_out and not beside
        yield Answer(left_out, name, counts)
        if counts:
            failing = frozenset()

"""Carry-over, which no single trace shows: a run that leans towards the one before it, while the next one does not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError

_SURE = 3.0
_LARGEST_SHARE = 0.5
"""More than half of the way to the sample before is another trouble than what it left in the chamber."""
ACTION = "Run it again, after an empty or reference run; clean chamber and rim if it happens again."


@dataclass(frozen=True, slots=True)
class SequenceRun:
    """A run in the order it was read; a reference solution or a control has an expected value."""

    run: str
    a_w: float
    expected: float | None = None
    u_expected: float = 0.0


@dataclass(frozen=True, slots=True)
class CarryOver:
    """A run that carries something of the one before."""

    run: str
    after: str
    deviation: float
    share: float  # of the way to the run before
    evidence: tuple[str, ...]
    action: str = ACTION


def carried_over(runs: Sequence[SequenceRun], u_reading: float) -> tuple[CarryOver, ...]:
    """The runs of known a_w that lean towards the run before, where the instrument reads right again afterwards.

        d = a_w - expected;  carried: |d| > 3 u(d), d towards the run before, and the next known run within 3 u
    runs: the runs of one instrument in the order they were read [1].
    u_reading: standard uncertainty of a reading [1], above 0.
    Returns: one CarryOver a run that is to be run again [1]; samples have no expected value and are not judged.
    Raises: InputError for an uncertainty that is not above zero.
    Example: MgCl2 expected 0.3278 reads 0.341 after cloves of 0.57, then 0.329: the first is flagged, the second not.
    Source: none (common practice).
    """
    if not 0.0 < u_reading < 0.1:
        raise InputError("u_reading", u_reading, "above 0, below 0.1")
    found = []
    for at in range(1, len(runs)):
        run, before = runs[at], runs[at - 1]
        off = _off(run, u_reading)
        if off is None or abs(off) <= _SURE or not _recovers(runs, at, u_reading):
            continue
        assert run.expected is not None
        deviation, way = run.a_w - run.expected, before.a_w - run.expected
        if deviation * way <= 0.0 or abs(deviation) > _LARGEST_SHARE * abs(way):
            continue
        found.append(CarryOver(run.run, before.run, deviation, deviation / way, _said(run, before, deviation)))
    return tuple(found)


def _off(run: SequenceRun, u_reading: float) -> float | None:
    """How far off, in standard uncertainties; None where nothing is expected."""
    if run.expected is None:
        return None
    return (run.a_w - run.expected) / math.hypot(u_reading, run.u_expected)


def _recovers(runs: Sequence[SequenceRun], at: int, u_reading: float) -> bool:
    """Whether the next run of known a_w reads right; where there is none it is not known, and not said."""
    for later in runs[at + 1 :]:
        off = _off(later, u_reading)
        if off is not None:
            return abs(off) <= _SURE
    return False


def _said(run: SequenceRun, before: SequenceRun, deviation: float) -> tuple[str, ...]:
    off = f"{deviation:+.4f} from what it should"
    return (
        f"{run.run} reads {run.a_w:.4f}, {off}, towards {before.run} ({before.a_w:.4f}) before it.",
        "The next run of known a_w reads right: the instrument is not off, the chamber or the sensor kept something.",
    )

"""A check read while a correction is in force: judged as read and corrected; the standing follows the corrected one.

The instrument's own readings stay as they are. The correction's uncertainty is left out of E_n: a larger u would make
the check laxer.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from isohume.bench.assurance.check import Check, CheckReading, judge_check
from isohume.bench.assurance.correction import Correction
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions import reference_value

_TOO_FEW = "Fewer than two different reference solutions passed: no range is covered."


@dataclass(frozen=True, slots=True)
class CheckedBothWays:
    """A check as the instrument read it, and with the correction that was in force; the second one decides."""

    as_read: Check
    corrected: Check


def judge_corrected_check(
    readings: Iterable[CheckReading], correction: Correction, limit: float, u_instrument: float
) -> CheckedBothWays:
    """Judge a check of an instrument whose readings are corrected.

        corrected = offset + slope * read, for references that lie in the span of the correction within `limit`
    readings: readings of reference solutions as the instrument gave them [1], at least one.
    correction: the correction in force when they were read [1].
    limit: the laboratory's own limit for the deviation [1], greater than zero.
    u_instrument: standard uncertainty of the instrument's reading, repeatability left out [1], zero or more.
    Returns: both judgements [text]; the corrected one says so in its reasons, and what the other one says.
    Raises: InputError as judge_check does, and for a check that was read before the correction began.
    Source: none.
    """
    kept = list(readings)
    as_read = judge_check(kept, limit, u_instrument)
    if as_read.first_read_at is not None and as_read.first_read_at < correction.since:
        raise InputError(
            "correction.since",
            correction.since.isoformat(),
            f"a moment not after the first reading of the check ({as_read.first_read_at.isoformat()}): "
            "a check from before it says nothing of corrected readings",
        )
    inside = [reading for reading in kept if _in_span(reading, correction, limit)]
    said = [*_left_out(kept, inside, correction), _statement(as_read, correction)]
    if not inside:
        # what was read is kept as it was read; that no reference speaks for corrected readings makes none of them pass
        read = tuple(replace(solution, within=False) for solution in as_read.solutions)
        none = replace(as_read, solutions=read, covers_a_w=None, line=None, verdict="fail", reasons=tuple(said))
        return CheckedBothWays(as_read, none)
    moved = [replace(reading, a_w=correction.on_line(reading.a_w)) for reading in inside]
    corrected = judge_check(moved, limit, u_instrument)
    too_few = [_TOO_FEW] if not corrected.reasons and corrected.covers_a_w is None else []
    corrected = replace(corrected, reasons=(*corrected.reasons, *too_few, *said))
    return CheckedBothWays(as_read, corrected)


def _in_span(reading: CheckReading, correction: Correction, limit: float) -> bool:
    """Whether a reference belongs to those the correction rests on.

    By what it should read, not by what it read: one that has drifted out of the range must be able to fail.
    """
    expected = reference_value(reading.solution, reading.temperature_c, reading.molality).a_w
    low = correction.on_line(float(correction.lowest_read))
    high = correction.on_line(float(correction.highest_read))
    return low - limit <= expected <= high + limit


def _left_out(kept: list[CheckReading], inside: list[CheckReading], correction: Correction) -> list[str]:
    names = dict.fromkeys(reading.solution for reading in kept if reading not in inside)
    return [
        f"{name} lies outside the references of {correction.named}: nothing is said of it, and it covers nothing."
        for name in names
    ]


def _statement(as_read: Check, correction: Correction) -> str:
    verdict = "passed" if as_read.verdict == "pass" and as_read.steady else "failed"
    return (
        f"Judged with {correction.named}, in force since {correction.since.isoformat(timespec='minutes')}; "
        f"as read, without it, the check {verdict}."
    )

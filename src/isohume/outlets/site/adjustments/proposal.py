"""The correction that a check proposes, and what stands against it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from isohume.bench.assurance import Caps, FittedCorrection, Move, against_correction, cumulative_walk, fit_correction
from isohume.bench.assurance import Correction as Line
from isohume.bench.assurance.correction import make_correction, references_of
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.adjustments.changes import next_minute
from isohume.outlets.site.adjustments.models import Correction
from isohume.outlets.site.adjustments.queries import caps_of, correction_in_force, judged_as_read, line_of, moves_of
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.checks.models import Check


@dataclass(frozen=True, slots=True)
class Proposal:
    """The next version through a check's references, the caps it is held against, and how far all together walk."""

    line: Line
    fitted: FittedCorrection
    caps: Caps
    walked: float
    before: Correction | None
    against: tuple[str, ...]


def propose(check: Check, at: datetime) -> Proposal | str:
    """What a correction from this check would be; in words, why there is none."""
    try:
        fitted = fit_correction(references_of(judged_as_read(check)))
    except InputError as error:
        return f"Check {check.pk} gives no line: {error.allowed}."
    instrument, since = check.instrument, next_minute(at)
    before = correction_in_force(instrument, since)
    version = instrument.corrections.count() + 1
    source = f"check {check.pk} of {shown_at(check.last_read_at, instrument.site)}"
    line = make_correction(fitted, instrument.name, str(version), since, source)
    caps = caps_of(check.method_version.method)
    walked = cumulative_walk([*moves_of(instrument), _move(line, before)])[-1].total
    return Proposal(line, fitted, caps, walked, before, against_correction(fitted, caps, float(check.limit), walked))


def _move(line: Line, before: Correction | None) -> Move:
    """How far this version moves what is stated, against the one it takes the place of."""
    low, high = float(line.lowest_read), float(line.highest_read)
    old = None if before is None else line_of(before)
    shifts = [line.on_line(read) - (read if old is None else old.on_line(read)) for read in (low, high)]
    return Move(line.since, line.named, line.on_line(low), shifts[0], line.on_line(high), shifts[1])

"""The correction in force when a lot was read: its section of the lot file, and what it makes of the runs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from isohume.bench.assurance.correction import HIGHEST_CAPS, Correction
from isohume.bench.decision.budget import LotBudget
from isohume.bench.reading.usable import Judged
from isohume.bench.record.toml_section import Section
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_time

_COUNTED = ("replicate", "re-read")
LARGEST_U = Decimal("0.1")


def read_correction(top: Section) -> Correction | None:
    """The section [correction] of a lot file; None where no correction was in force.

    top: the lot file [text].
    Returns: the Correction [text].
    Raises: InputError for what is missing, beyond a ceiling, or contradicts itself.
    Source: none (ceilings are choices of isohume).
    """
    section = top.section("correction")
    if section is None:
        return None
    low, high = section.needed("lowest_read"), section.needed("highest_read")
    if not 0 < low < high < Decimal("1.2"):
        allowed = "lowest_read below highest_read, both readings of a_w: where the outermost references read"
        raise InputError(section.field("lowest_read"), f"{low} to {high}", allowed)
    u_offset, u_slope, covariance = (section.needed(key) for key in ("u_offset", "u_slope", "covariance"))
    for key, u in (("u_offset", u_offset), ("u_slope", u_slope)):
        if not 0 <= u <= LARGEST_U:
            raise InputError(section.field(key), u, f"a standard uncertainty, zero or more and at most {LARGEST_U}")
    if abs(covariance) > u_offset * u_slope:
        allowed = "the covariance of offset and slope, in size at most u_offset times u_slope"
        raise InputError(section.field("covariance"), covariance, allowed)
    found = Correction(
        id=section.text("id"),
        version=section.text("version"),
        offset=_offset(section),
        slope=_slope(section),
        u_offset=float(u_offset),
        u_slope=float(u_slope),
        covariance=float(covariance),
        lowest_read=low,
        highest_read=high,
        since=read_time(section.raw("since"), section.field("since"), section.notes),
        source=section.text("source"),
    )
    section.close()
    return found


def _offset(section: Section) -> Decimal:
    offset, most = section.needed("offset"), Decimal(repr(HIGHEST_CAPS.offset))
    if abs(offset) > most:
        raise InputError(section.field("offset"), offset, f"an a_w, at most {most} either way")
    return offset


def _slope(section: Section) -> Decimal:
    slope, most = section.needed("slope"), Decimal(repr(HIGHEST_CAPS.slope))
    if abs(slope - 1) > most:
        raise InputError(section.field("slope"), slope, f"within {most} of 1")
    return slope


def corrected_runs(runs: Iterable[Judged], correction: Correction | None) -> tuple[Judged, ...]:
    """Every run with what the correction makes of it; one it does not hold for is refused, with the reason.

    runs: the judged runs of a lot [text].
    correction: the correction in force [text]; None leaves the runs as they are.
    Returns: one run a run [text]; void ones and those of other components stay as they were read.
    Raises: InputError for a run that counts and was read before the correction began.
    Source: none.
    """
    if correction is None:
        return tuple(runs)
    return tuple(_corrected(judged, correction) if judged.use in _COUNTED else judged for judged in runs)


def may_hold(judged: Judged, correction: Correction | None) -> Decimal:
    """What a run says where it may hold a lot, also one that a guard refused: never less than is known of it.

        beyond the highest (lowest) reading of the correction the product is at least as wet (dry) as its end says
    judged: a run that counts or was refused [text].
    correction: the correction in force [text]; None: what was read.
    Returns: a_w [1], for holding only; nothing is stated beyond the references.
    Source: none.
    """
    read = judged.run.a_w
    if correction is None or judged.corrected is not None or judged.run.read_at < correction.since:
        return judged.a_w
    if correction.holds_for(read):
        return correction.corrected(read)
    if read > correction.highest_read:
        return max(read, correction.corrected(correction.highest_read))
    return min(read, correction.corrected(correction.lowest_read))


def _corrected(judged: Judged, correction: Correction) -> Judged:
    run = judged.run
    if run.read_at < correction.since:
        since = correction.since.isoformat()
        allowed = f"a moment after {correction.named} began ({since}): earlier readings keep what held then"
        raise InputError("read_at", run.read_at.isoformat(), allowed, row=run.row)
    if not correction.holds_for(run.a_w):
        why = (
            f"Read {run.a_w}, outside {correction.lowest_read} to {correction.highest_read}, where {correction.named} "
            "holds: it is not extrapolated, so this reading says nothing."
        )
        return replace(judged, use="refused", reasons=(*judged.reasons, why))
    corrected = correction.corrected(run.a_w)
    why = f"Read {run.a_w}; with {correction.named} {corrected.quantize(Decimal('0.00001'))}."
    return replace(judged, corrected=corrected, reasons=(*judged.reasons, why))


def with_correction(budget: LotBudget, correction: Correction | None, value: Decimal | None) -> LotBudget:
    """The budget with what the correction adds to it.

    budget: what the readings themselves carry [1].
    correction: the correction in force [text]; None adds nothing.
    value: the corrected value of the lot's portions [1].
    Returns: the LotBudget [1].
    Source: JCGM100, 5.2.2.
    """
    if correction is None or value is None:
        return budget
    read = float((value - correction.offset) / correction.slope)
    how = "offset and slope with their covariance; a slope above 1 stretches what was read"
    return budget.plus(correction.named, correction.u_added(read, budget.u), how)


def correction_as_json(correction: Correction) -> dict[str, Any]:
    """The correction as the record keeps it: exact decimals as text.

    correction: the correction in force [text].
    Returns: a plain object [text].
    Source: none.
    """
    return {
        "id": correction.id,
        "version": correction.version,
        "offset": f"{correction.offset:f}",
        "slope": f"{correction.slope:f}",
        "u_offset": correction.u_offset,
        "u_slope": correction.u_slope,
        "covariance": correction.covariance,
        "lowest_read": f"{correction.lowest_read:f}",
        "highest_read": f"{correction.highest_read:f}",
        "since": correction.since.isoformat(),
        "source": correction.source,
    }

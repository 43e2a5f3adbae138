"""The questions asked of an instrument's scale: which correction is in force, what changed it, how far it walked."""

from __future__ import annotations

import copy
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from django.db.models import QuerySet

from isohume.bench.assurance import Check as Judged
from isohume.bench.assurance import Correction as Line
from isohume.bench.assurance import Move
from isohume.bench.assurance.correction import DEFAULT_CAPS, Caps
from isohume.outlets.site.adjustments.models import (
    EVENTS,
    MOVES,
    OUT_OF_USE,
    RETURNED,
    Correction,
    CorrectionCaps,
    InstrumentAdjustment,
    ScaleChange,
)
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.checks.giving import GIVES
from isohume.outlets.site.checks.judged import judged_of
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.register.models import Instrument, Method

MOST_CHANGES = 400


def adjustment_events(instrument: Instrument) -> QuerySet[ScaleChange]:
    """Every change of the instrument's scale, oldest first: a chart of its checks begins a new phase at each.

    Adjusted or serviced at the meter, a correction began or ended; `at`, `kind` and `words` say it. Being out of use
    is none: it asks for a check, and moves nothing by itself.
    """
    return ScaleChange.objects.filter(instrument=instrument, kind__in=MOVES).order_by("at", "pk")


def last_change(instrument: Instrument, at: datetime) -> ScaleChange | None:
    """The last change of scale until a moment, or the last time it was taken out of use or returned."""
    return ScaleChange.objects.filter(instrument=instrument, at__lte=at).order_by("-at", "-pk").first()


def changed_between(
    instrument: Instrument, after: datetime, until: datetime, kinds: Iterable[str] = EVENTS
) -> ScaleChange | None:
    """A change of scale after one moment and not later than another: what was read on both sides is not compared.

    Taken out of use and returned count as such, unless other kinds are asked for.
    """
    found = ScaleChange.objects.filter(instrument=instrument, at__gt=after, at__lte=until, kind__in=tuple(kinds))
    return found.order_by("at", "pk").first()


def words_against(words: str, at: datetime, instrument: Instrument) -> str:
    """Why a check from before a change of scale protects nothing after it."""
    when = shown_at(at, instrument.site)
    needed = "a new opening check" if words in (words_out(instrument), words_back(instrument)) else "the as-left check"
    return f"{words} at {when}, after its check: it has no standing until {needed} passes."


def words_out(instrument: Instrument) -> str:
    """What is said of an instrument that is taken out of use."""
    return f"{instrument} was taken out of use"


def words_back(instrument: Instrument) -> str:
    """What is said of an instrument that is returned."""
    return f"{instrument} was returned to use"


def out_of_use_since(instrument: Instrument, at: datetime) -> datetime | None:
    """Since when an instrument was out of use at a moment; None where it was in use then."""
    found = ScaleChange.objects.filter(instrument=instrument, kind__in=(OUT_OF_USE, RETURNED), at__lte=at)
    last = found.order_by("-at", "-pk").values_list("kind", "at").first()
    return last[1] if last is not None and last[0] == OUT_OF_USE else None


def correction_in_force(instrument: Instrument, at: datetime) -> Correction | None:
    """The correction that was in force at a moment: a reading keeps the version of its own time."""
    begun = Correction.objects.filter(instrument=instrument, since__lte=at).select_related(
        "instrument__site", "of_check"
    )
    found = begun.order_by("-since", "-version").first()
    return None if found is None or (found.ended_at is not None and found.ended_at <= at) else found


def line_of(correction: Correction) -> Line:
    """The correction in the terms of the bench's own rule."""
    return Line(
        id=correction.instrument.name,
        version=str(correction.version),
        offset=Decimal(correction.offset),
        slope=Decimal(correction.slope),
        u_offset=float(correction.u_offset),
        u_slope=float(correction.u_slope),
        covariance=float(correction.covariance),
        lowest_read=Decimal(correction.lowest_read),
        highest_read=Decimal(correction.highest_read),
        since=correction.since,
        source=source_of(correction),
    )


def source_of(correction: Correction) -> str:
    """The check a correction rests on, in words."""
    return f"check {correction.of_check_id} of {shown_at(correction.of_check.last_read_at, correction.instrument.site)}"


def judged_as_read(check: Check) -> Judged:
    """A check as the instrument read it, whatever correction was in force."""
    as_read = copy.copy(check)
    as_read.result = check.result.get("as_read", check.result)
    return judged_of(as_read)


def caps_of(method: Method) -> Caps:
    """The caps in force for corrections under a method; the defaults of isohume where none were set."""
    last = CorrectionCaps.objects.filter(method=method).order_by("pk").last()
    if last is None:
        return DEFAULT_CAPS
    return Caps(float(last.offset), float(last.slope), float(last.walk))


def as_left_of(adjustment: InstrumentAdjustment) -> Check | None:
    """The as-left check: the first after it that let the instrument measure, or else the first one read.

    A later change of scale ends what speaks of this one.
    """
    later = Check.objects.filter(voided_at=None, instrument=adjustment.instrument_id, first_read_at__gte=adjustment.at)
    following = ScaleChange.objects.filter(instrument=adjustment.instrument_id, kind__in=MOVES, at__gt=adjustment.at)
    if (end := following.order_by("at").first()) is not None:
        later = later.filter(last_read_at__lt=end.at)
    ordered = later.order_by("first_read_at", "pk")
    return ordered.filter(GIVES).first() or ordered.first()


def moves_of(instrument: Instrument) -> list[Move]:
    """Every change of scale with how far it moved what is stated, oldest first; not read as left is not moved yet."""
    adjustments = {one.ref: one for one in instrument.adjustments.select_related("as_found")}
    found = []
    for change in adjustment_events(instrument)[:MOST_CHANGES]:
        move = _moved(change, adjustments[change.about]) if change.about in adjustments else _kept(change)
        if move is not None:
            found.append(move)
    return found


def _kept(change: ScaleChange) -> Move | None:
    if change.low is None or change.low_shift is None or change.high is None or change.high_shift is None:
        return None
    return Move(change.at, change.words, change.low, change.low_shift, change.high, change.high_shift, change.anew)


def _moved(change: ScaleChange, adjustment: InstrumentAdjustment) -> Move | None:
    """What the meter's own adjustment moved, seen at the references read before and after it."""
    as_left = as_left_of(adjustment)
    if as_left is None:
        return None
    before = {(s.solution, s.molality): s for s in judged_as_read(adjustment.as_found).solutions}
    both = [(s, before[key]) for s in judged_as_read(as_left).solutions if (key := (s.solution, s.molality)) in before]
    if not both:
        return None
    shifts = sorted((left.expected, left.deviation - found.deviation) for left, found in both)
    (low, low_shift), (high, high_shift) = shifts[0], shifts[-1]
    return Move(change.at, change.words, low, low_shift, high, high_shift, change.anew)

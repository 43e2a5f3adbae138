"""Carry-over among the captured runs of an instrument, which no single trace shows: only their order does."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from isohume.bench.reading.diagnosis import CarryOver, SequenceRun, carried_over
from isohume.foundation.quantity.errors import IsohumeError
from isohume.foundation.solutions import reference_value
from isohume.outlets.site.captures.judged import judged_of
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.queries import captured_of
from isohume.outlets.site.captures.value import value_of

AROUND = timedelta(hours=12)
MOST = 12
"""Runs before and after a run that are looked at: what a chamber keeps is gone by then (no source)."""


def carried_into(run: CapturedRun) -> CarryOver | None:
    """What a reference's run kept of the run before it; None where it kept nothing, or nobody can tell yet.

    The runs of other methods' cups stand in the sequence by their last reading; references by their own value.
    """
    if run.bottle is None or run.ended_at is None or run.fate == "void":
        return None
    sequence = list(_sequence(run))
    found = carried_over(sequence, float(run.instrument.u_instrument)) if len(sequence) > 1 else ()
    return next((one for one in found if one.run == _name(run)), None)


def _sequence(run: CapturedRun) -> Iterable[SequenceRun]:
    near = captured_of(run.site).filter(instrument=run.instrument, ended_at__isnull=False, readings__gt=0)
    before = near.filter(started_at__lt=run.started_at, started_at__gt=run.started_at - AROUND).order_by("-started_at")
    after = near.filter(started_at__gt=run.started_at, started_at__lt=run.started_at + AROUND).order_by("started_at")
    for one in [*reversed(before[:MOST]), run, *after[:MOST]]:
        yield _known(one) if one.bottle is not None else SequenceRun(_name(one), float(one.last_a_w))


def _known(run: CapturedRun) -> SequenceRun:
    """A reference with what it should read at its own temperature; without a temperature nothing is expected."""
    assert run.bottle is not None, "a reference"
    value = value_of(run, judged_of(run))
    a_w = float(value.a_w if value else run.last_a_w)
    lot = run.bottle.solution_lot
    # a solution that nobody measured is taken at the block's temperature: what is carried over is larger than that
    temperature_c = value and (value.sample_temperature_c or value.block_temperature_c)
    if not temperature_c:
        return SequenceRun(_name(run), a_w)
    try:
        molality = float(lot.molality) if lot.molality else None
        known = reference_value(lot.solution, float(temperature_c), molality)
    except IsohumeError:  # a temperature at which nothing is published
        return SequenceRun(_name(run), a_w)
    return SequenceRun(_name(run), a_w, known.a_w, known.u or 0.0)


def _name(run: CapturedRun) -> str:
    return f"{run.named.capitalize()} of {run.of_words}" if run.of is not None else run.named.capitalize()

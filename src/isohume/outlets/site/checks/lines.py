"""The a_w lines of checks: one check's references, and every instrument's range with what waits."""

from __future__ import annotations

from collections.abc import Iterable

from isohume.outlets.paper.line_spec import InstrumentRange, LineSpec, Reference, Speaks, ValueMark, fitted
from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import StandingNow

HIGHEST_READ = 1.2


def line_of_check(check: Check, *, speaks: bool = True) -> LineSpec:
    """Where each reference should be and where it read, and the range the instrument may speak in, if it may."""
    references = [
        Reference(named(s["solution"], s["molality"]), s["expected"], min(s["mean"], HIGHEST_READ), s["within"])
        for s in check.result["solutions"] or check.result["as_read"]["solutions"]  # none inside its correction
    ]
    span = None
    if speaks and check.may_measure and check.covers_low is not None and check.covers_high is not None:
        span = Speaks(check.covers_low, check.covers_high)
    return fitted(f"Check {check.pk} of {check.instrument.name}: references and range", references, span)


def line_of_standings(found: Iterable[StandingNow], waiting: Iterable[ValueMark] = ()) -> LineSpec | None:
    """Each instrument's range and hours left, and the waiting samples where they are expected; None without any."""
    ranges = [shown for standing in found if (shown := _range(standing)) is not None]
    values = tuple(waiting)
    if not ranges and not values:
        return None
    return fitted("Water activity: what each instrument may measure now, and what waits", values=values, ranges=ranges)


def _range(standing: StandingNow) -> InstrumentRange | None:
    """The range of the check in force; an instrument that may not measure now keeps its last range, marked so."""
    check = standing.gate.check
    if check is None or check.covers_low is None or check.covers_high is None or not standing.instrument.in_use:
        return None
    words = standing.left if standing.gate.allowed else standing.word
    name = standing.instrument.name
    return InstrumentRange(name, check.covers_low, check.covers_high, words, standing.gate.allowed)

"""What happened since a check failed, as the bench's own rule wants to know it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from isohume.bench.assurance import (
    Facts,
    Sequence,
    after_failure,
    reasons_against_adjusting,
    reasons_against_repeating,
)
from isohume.outlets.site.adjustments.models import FreshPortion, ScaleChange
from isohume.outlets.site.checks.giving import GIVES, fact_of, failing_of, last_giving
from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check, Cleaning
from isohume.outlets.site.register.models import Bottle, Instrument

ADJUSTED = ("adjusted", "serviced", "correction began")
MOST_CHECKS = 40


def failure_of(check: Check) -> Check:
    """The check that began it: the first that failed since the instrument last got its standing."""
    failed = Check.objects.filter(voided_at=None, passed=False, instrument=check.instrument_id)
    good = last_giving(check.instrument_id, check.last_read_at)
    if good is not None:
        failed = failed.filter(last_read_at__gt=good.last_read_at)
    return failed.filter(last_read_at__lte=check.last_read_at).order_by("last_read_at", "pk").first() or check


def open_failure(instrument: Instrument, at: datetime) -> Check | None:
    """The failed check that has not been answered yet at a moment; None where the instrument is not in question."""
    failed = Check.objects.filter(voided_at=None, passed=False, instrument=instrument, last_read_at__lte=at)
    good = last_giving(instrument.pk, at)
    if good is not None:
        failed = failed.filter(last_read_at__gt=good.last_read_at)
    return failed.order_by("last_read_at", "pk").first()


def facts_of(failed: Check, until: datetime | None = None) -> Facts:
    """Everything since a check failed, up to the one that let the instrument measure again, having read what failed.

    until: only what happened until then; without it, until now.
    """
    later = Check.objects.filter(voided_at=None, instrument=failed.instrument_id, last_read_at__gt=failed.last_read_at)
    if until is not None:
        later = later.filter(last_read_at__lte=until)
    if (giving := later.filter(GIVES).order_by("last_read_at", "pk").first()) is not None:
        later = later.filter(last_read_at__lte=giving.last_read_at)
    known = later.order_by("last_read_at", "passed", "pk").prefetch_related("readings__bottle__solution_lot")
    began = Facts(failed=fact_of(failed, _lots(failed)), failing=failing_of(failed), in_use=failed.instrument.in_use)
    all_later = replace(began, later=tuple(fact_of(one, _lots(one)) for one in known[:MOST_CHECKS]))
    ended = all_later.ended_by
    checks = all_later.later if ended is None else all_later.later[: all_later.later.index(ended) + 1]
    end = until if ended is None else ended.first_read_at
    within = {"at__gt": failed.last_read_at, **({"at__lte": end} if end is not None else {})}
    cleanings = Cleaning.objects.filter(instrument=failed.instrument_id, **within)
    changes = ScaleChange.objects.filter(instrument=failed.instrument_id, kind__in=ADJUSTED, **within)
    poured = FreshPortion.objects.filter(failed_check=failed, **within)
    return replace(
        began,
        later=checks,
        fresh_portions=tuple(poured.order_by("at").values_list("at", flat=True)),
        cleanings=tuple(cleanings.order_by("at").values_list("at", flat=True)),
        adjustments=tuple(changes.order_by("at").values_list("at", flat=True)),
    )


def sequence_of(failed: Check) -> Sequence:
    """The guided sequence after a failed check, as it stands now."""
    return after_failure(facts_of(failed))


def against_repeating(instrument: Instrument, bottles: Iterable[Bottle], at: datetime) -> tuple[str, ...]:
    """Why another check may not be read at a moment: repeated once already, and nothing changed since."""
    failed = open_failure(instrument, at)
    if failed is None:
        return ()
    return reasons_against_repeating(facts_of(failed, at), frozenset(map(_lot, bottles)))


def against_adjusting(instrument: Instrument, at: datetime, shown_by: Check | None) -> tuple[str, ...]:
    """Why the instrument may not be adjusted, or its readings corrected, at a moment.

    shown_by: the check that shows what is wrong. Where none failed, it must have been read after a cleaning.
    """
    failed = open_failure(instrument, at)
    if failed is not None:
        return reasons_against_adjusting(facts_of(failed, at))
    if shown_by is None or shown_by.cleaning_id is not None:
        return ()
    return (
        f"Check {shown_by.pk} was not read after a cleaning: clean, log it and check again first, "
        "or the dirt is adjusted away.",
    )


def against_correcting(instrument: Instrument, at: datetime, check: Check) -> tuple[str, ...]:
    """Why a correction may not rest on a check: a reference that failed lies outside its span and is never read again.

    A check says nothing of references outside the correction in force, so what failed there could not be answered.
    """
    failed = open_failure(instrument, at)
    if failed is None:
        return ()
    facts = facts_of(failed, at)
    wrong = facts.failing.union(*(one.failing for one in facts.later))
    as_read = check.result.get("as_read", check.result)
    left_out = sorted(wrong - {named(s["solution"], s["molality"]) for s in as_read["solutions"]})
    if not left_out:
        return ()
    return (
        f"Check {check.pk} did not read {', '.join(left_out)}, which failed: a correction rests on all that failed, "
        "for no check could speak of the rest while it is in force.",
    )


def _lots(check: Check) -> frozenset[tuple[str, str]]:
    return frozenset(_lot(reading.bottle) for reading in check.readings.all())


def _lot(bottle: Bottle) -> tuple[str, str]:
    lot = bottle.solution_lot
    return named(lot.solution, float(lot.molality) if lot.molality else None), lot.code

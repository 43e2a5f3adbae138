"""What happened since a check failed, as the bench's own rule wants to know it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from isohume.bench.assurance import (
    CheckFact,
    Facts,
    Sequence,
    after_failure,
    reasons_against_adjusting,
    reasons_against_repeating,
)
from isohume.outlets.site.adjustments.models import FreshPortion, ScaleChange
from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check, Cleaning
from isohume.outlets.site.register.models import Bottle, Instrument

ADJUSTED = ("adjusted", "serviced", "correction began")
MOST_CHECKS = 40


def failure_of(check: Check) -> Check:
    """The check that began it: the first that failed since the instrument last got its standing."""
    failed = Check.objects.filter(voided_at=None, passed=False, instrument=check.instrument_id)
    good = _last_good(check.instrument_id, check.last_read_at)
    if good is not None:
        failed = failed.filter(last_read_at__gt=good.last_read_at)
    return failed.filter(last_read_at__lte=check.last_read_at).order_by("last_read_at", "pk").first() or check


def open_failure(instrument: Instrument, at: datetime) -> Check | None:
    """The failed check that has not been answered yet at a moment; None where the instrument is not in question."""
    failed = Check.objects.filter(voided_at=None, passed=False, instrument=instrument, last_read_at__lte=at)
    good = _last_good(instrument.pk, at)
    if good is not None:
        failed = failed.filter(last_read_at__gt=good.last_read_at)
    return failed.order_by("last_read_at", "pk").first()


def _last_good(instrument: int, at: datetime) -> Check | None:
    found = Check.objects.filter(voided_at=None, kind="opening", may_measure=True, instrument=instrument)
    return found.filter(last_read_at__lte=at).order_by("-last_read_at", "-pk").first()


def facts_of(failed: Check, until: datetime | None = None) -> Facts:
    """Everything since a check failed, up to the one that let the instrument measure again.

    until: only what happened until then; without it, until now.
    """
    later = Check.objects.filter(voided_at=None, instrument=failed.instrument_id, last_read_at__gt=failed.last_read_at)
    if until is not None:
        later = later.filter(last_read_at__lte=until)
    checks = []
    for one in later.order_by("last_read_at", "pk").prefetch_related("readings__bottle__solution_lot")[:MOST_CHECKS]:
        checks.append(_fact(one))
        if checks[-1].lets_measure:
            break
    end = checks[-1].first_read_at if checks and checks[-1].lets_measure else until
    within = {"at__gt": failed.last_read_at, **({"at__lte": end} if end is not None else {})}
    cleanings = Cleaning.objects.filter(instrument=failed.instrument_id, **within)
    changes = ScaleChange.objects.filter(instrument=failed.instrument_id, kind__in=ADJUSTED, **within)
    poured = FreshPortion.objects.filter(failed_check=failed, **within)
    return Facts(
        failed=_fact(failed),
        failing=_failing(failed),
        later=tuple(checks),
        fresh_portions=tuple(poured.order_by("at").values_list("at", flat=True)),
        cleanings=tuple(cleanings.order_by("at").values_list("at", flat=True)),
        adjustments=tuple(changes.order_by("at").values_list("at", flat=True)),
        in_use=failed.instrument.in_use,
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


def _fact(check: Check) -> CheckFact:
    readings = check.readings.all()
    return CheckFact(
        name=f"check {check.pk}",
        first_read_at=check.first_read_at,
        last_read_at=check.last_read_at,
        lets_measure=check.kind == "opening" and check.may_measure,
        lots=frozenset(_lot(reading.bottle) for reading in readings),
        failed=not check.passed,
    )


def _lot(bottle: Bottle) -> tuple[str, str]:
    lot = bottle.solution_lot
    return named(lot.solution, float(lot.molality) if lot.molality else None), lot.code


def _failing(check: Check) -> frozenset[str]:
    """The references that were not within, or scattered; all of them where the check failed for another reason."""
    limit, solutions = check.result["limit"], check.result["solutions"]
    wrong = [s for s in solutions if not s["within"] or abs(s.get("largest_deviation", 0.0)) > limit]
    return frozenset(named(s["solution"], s["molality"]) for s in (wrong or solutions))

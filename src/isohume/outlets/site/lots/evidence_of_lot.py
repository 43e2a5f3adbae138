"""What decides about a lot: its runs, the one instrument and check they stand on, and the check that closes them."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.adjustments.queries import changed_between, words_against
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.giving import against_giving
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import closing_check, under_another_method
from isohume.outlets.site.ledger.actions import Refused
from isohume.outlets.site.register.models import SolutionLot
from isohume.outlets.site.register.queries import faults_of_lot


@dataclass(frozen=True, slots=True)
class EvidenceOfLot:
    """Everything of a lot that a decision stands on; `runs` are all of them, oldest first."""

    lot: Lot
    runs: tuple[Run, ...]
    deciding: tuple[Run, ...]
    opening: Check
    closing: Check | None


def evidence_of(lot: Lot) -> EvidenceOfLot:
    """The evidence of a lot.

    Raises: Refused where there is no run, where runs that count stand on two instruments, checks or methods, or on a
        check that may carry nothing.
    """
    runs = runs_of(lot)
    if not runs:
        raise Refused(f"Lot {lot.code} has no run yet: read a portion first.")
    # where nothing counts, the last attempt says which instrument and check the record names
    deciding = tuple(run for run in runs if run.counts) or runs[-1:]
    opening, closing = deciding[0].opening_check, check_after(deciding)
    reasons = [*_two_of(lot, deciding), *unsound(opening), *under_another_method(opening, deciding[0].method_version)]
    reasons += scale_changed(deciding, opening)
    if closing is not None and closing.passed:
        reasons += unsound(closing)
    if reasons:
        raise Refused(*reasons)
    return EvidenceOfLot(lot, runs, deciding, opening, closing)


def runs_of(lot: Lot) -> tuple[Run, ...]:
    """Every run of a lot, void ones and corrected originals too, oldest first."""
    found = Run.objects.filter(portion__sample__lot=lot).select_related(
        "portion__sample",
        "instrument",
        "method_version__method",
        "opening_check__method_version__method",
        "corrected_by",
        "corrects",
        "imported",
        "by",
    )
    return tuple(found.order_by("read_at", "pk"))


def check_after(runs: tuple[Run, ...]) -> Check | None:
    """The check that closes these runs: the next closing or failed one of their instrument."""
    last = max(run.read_at for run in runs)
    found = closing_check(runs[0].opening_check, last)
    if found is None or not found.passed:
        return found
    # on another scale it cannot tell whether the readings before were still true
    return found if changed_between(found.instrument, last, found.last_read_at) is None else None


def unsound(check: Check) -> list[str]:
    """Why nothing may stand on a check: void, gave no standing, or read on a reference lot that is at fault."""
    named = f"Check {check.pk} of {check.instrument.name}"
    if check.voided_at is not None:
        why = check.void_reason.rstrip(".")
        return [f"{named} is void ({why}): readings under it are not protected."]
    if against := against_giving(check):
        return against
    lots = SolutionLot.objects.filter(bottles__readings__of_check=check).distinct().prefetch_related("weighings")
    return [
        f"{named} was read on a reference at fault, so readings under it are not protected. {fault.rstrip('.')}."
        for lot in lots.order_by("pk")
        for fault in faults_of_lot(lot)
    ]


def scale_changed(runs: tuple[Run, ...], opening: Check) -> list[str]:
    """Why readings do not stand on a check: the instrument was adjusted, or its correction changed, in between."""
    last = max(run.read_at for run in runs)
    moved = changed_between(opening.instrument, opening.last_read_at, last)
    return [] if moved is None else [words_against(moved.words, moved.at, opening.instrument)]


def _two_of(lot: Lot, runs: tuple[Run, ...]) -> list[str]:
    """Why these runs cannot be decided together, each reason naming what stands where."""
    what_to_do = (
        "One decision stands on one: void the runs that do not belong, with their cause, and read new portions."
    )
    reasons = []
    for what, say in (("instruments", _instrument), ("opening checks", _check), ("method versions", _method)):
        named: dict[str, list[str]] = {}
        for run in runs:
            named.setdefault(say(run), []).append(str(run.pk))
        if len(named) > 1:
            listed = "; ".join(f"{name}: run {', '.join(numbers)}" for name, numbers in named.items())
            reasons.append(f"The runs of lot {lot.code} stand on {len(named)} {what} ({listed}). {what_to_do}")
    return reasons


def _instrument(run: Run) -> str:
    return run.instrument.name


def _check(run: Run) -> str:
    check = run.opening_check
    at = check.last_read_at.isoformat(timespec="minutes")
    return f"check {check.pk} of {at}"


def _method(run: Run) -> str:
    return str(run.method_version)

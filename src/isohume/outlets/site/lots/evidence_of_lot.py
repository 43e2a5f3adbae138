"""What decides about a lot: its runs, the one instrument and check they stand on, and the check that closes them."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import closing_check
from isohume.outlets.site.ledger.actions import Refused


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

    Raises: Refused where there is no run, or where runs that count stand on two instruments, checks or methods.
    """
    runs = runs_of(lot)
    if not runs:
        raise Refused(f"Lot {lot.code} has no run yet: read a portion first.")
    # where nothing counts, the last attempt says which instrument and check the record names
    deciding = tuple(run for run in runs if run.counts) or runs[-1:]
    reasons = [*_two_of(lot, deciding), *(why for run in deciding[:1] for why in void_check(run.opening_check))]
    if reasons:
        raise Refused(*reasons)
    opening = deciding[0].opening_check
    return EvidenceOfLot(lot, runs, deciding, opening, check_after(deciding))


def runs_of(lot: Lot) -> tuple[Run, ...]:
    """Every run of a lot, void ones and corrected originals too, oldest first."""
    found = Run.objects.filter(portion__sample__lot=lot).select_related(
        "portion__sample", "instrument", "method_version__method", "opening_check", "corrected_by", "imported", "by"
    )
    return tuple(found.order_by("read_at", "pk"))


def check_after(runs: tuple[Run, ...]) -> Check | None:
    """The check that closes these runs: the next closing or failed one of their instrument."""
    return closing_check(runs[0].opening_check, max(run.read_at for run in runs))


def void_check(check: Check) -> list[str]:
    """Why nothing may stand on a check: it was voided."""
    if check.voided_at is None:
        return []
    why = check.void_reason.rstrip(".")
    return [f"Check {check.pk} of {check.instrument.name} is void ({why}): readings under it are not protected."]


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

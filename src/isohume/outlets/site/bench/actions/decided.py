"""A lot that is released or rejected is closed: whatever is added to it needs a reason. Asked under the write lock.

An object may have been read before the lock was there; what decides is read again.
"""

from __future__ import annotations

from collections.abc import Iterable

from isohume.outlets.site.bench.models import Lot, Run

DECIDED = ("released", "rejected")


def refuse_decided(lot: Lot, reason: str, what: str) -> Iterable[str]:
    """The refusal where a decided lot would take something more without a reason.

    what: what would be added, such as "another sample" [text].
    """
    if decided_now(lot) and not reason.strip():
        return [f"Lot {lot.code} is {lot.state}: {what} needs a reason."]
    return []


def decided_now(lot: Lot) -> bool:
    """Whether the lot is decided, by what the database says now."""
    lot.refresh_from_db(fields=("state",))
    return lot.state in DECIDED


def corrected_now(run: Run) -> Run | None:
    """The run's void reason is read again; returned is its correction, where it was corrected."""
    run.refresh_from_db(fields=("void_reason",))
    return Run.objects.filter(corrects=run).first()

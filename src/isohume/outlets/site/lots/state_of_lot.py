"""A lot's state follows from its last record and its open deviations: one rule for every door."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.lots.frozen import DECIDED, was_signed
from isohume.outlets.site.lots.models import Deviation, LotRecord

ENDED = DECIDED


def last_record(lot: Lot) -> LotRecord | None:
    """The record that speaks for the lot: the last one made; earlier ones are superseded."""
    return lot.records.order_by("pk").last()


def open_deviations(lot: Lot) -> QuerySet[Deviation]:
    """What still holds the lot: its own deviations, those of its runs, and failed checks its last record stands on."""
    holds = Q(lot=lot) | Q(run__portion__sample__lot=lot)
    if (record := last_record(lot)) is not None:
        holds |= Q(failed_check=record.opening_check_id)
    return Deviation.objects.filter(holds, closed_at=None).distinct().order_by("pk")


def state_of(lot: Lot, but_for: Deviation | None = None) -> str:
    """The state of a lot that is neither released nor rejected.

    but_for: a deviation that does not count, to ask what its closing leads to.
    """
    if open_deviations(lot).exclude(pk=but_for.pk if but_for else None).exists():
        return "on hold"
    record = last_record(lot)
    if record is None or record.verdict == "more portions needed":
        return "open"
    # what was released once and held since goes on with another record only
    return "judged" if record.disposition == "release" and not was_signed(record.record, "released") else "on hold"


def settle(lot: Lot) -> None:
    """Write the state that follows from the facts."""
    lot.state = state_of(lot)
    lot.save(update_fields=["state"])


def refuse_ended(lot: Lot) -> list[str]:
    """Why a lot takes nothing more: it is released or rejected."""
    lot.refresh_from_db(fields=["state"])
    return [f"Lot {lot.code} is {lot.state}: hold it first, with the reason."] if lot.state in ENDED else []

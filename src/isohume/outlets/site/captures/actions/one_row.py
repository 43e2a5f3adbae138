"""A number that was typed or imported before the captured run of the same read came in gives way to it."""

from __future__ import annotations

from dataclasses import dataclass, field

from isohume.outlets.site.bench.actions.decided import decided_now
from isohume.outlets.site.bench.rereads import counting
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.same_read import typed_of
from isohume.outlets.site.ledger.actions import By


@dataclass(frozen=True, slots=True)
class GaveWay:
    """What the line of the captured run says of it."""

    about: list[str] = field(default_factory=list)
    details: dict[str, str] = field(default_factory=dict)


def give_way(run: CapturedRun, why: str, by: By) -> GaveWay:
    """Void what was typed of this read, for the reason that it is this read; it stays with its number.

    Nobody chooses by it: what becomes of the read is its captured run's, whose value nobody types. The runs of a lot
    that is released or rejected stay as they were decided on; they are named.
    """
    typed, portion = typed_of(run), run.portion
    if not typed or portion is None:
        return GaveWay()
    named = ", ".join(f"run {one.pk}" for one in typed)
    refs = [one.ref for one in typed]
    if decided_now(portion.sample.lot):
        return GaveWay(refs, {"typed_of_this_read": f"{named}, as the lot was decided on"})
    for one in typed:
        one.void_reason, one.voided_at, one.voided_by = why, by.at, by.person
        one.save(update_fields=["void_reason", "voided_at", "voided_by"])
    if not portion.discarded_reason and not counting(portion):
        portion.done = False
        portion.save(update_fields=["done"])
    return GaveWay(refs, {"typed_of_this_read": f"{named}, void now"})

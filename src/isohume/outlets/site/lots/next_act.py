"""What to do next with a lot: one act, and why."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.bench.reading.runs import ESTIMATE
from isohume.bench.record.signature import Signature
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.signing_rules import not_keyed_twice
from isohume.outlets.site.lots.state_of_lot import open_deviations


@dataclass(frozen=True, slots=True)
class NextAct:
    """The next act: its word for the page (read, judge, key, review, release, certificate, hold, none) and why."""

    act: str
    why: str


AGAIN = "read its portions again until they have settled, then judge the lot again."


def _held_as_estimate(record: LotRecord) -> bool:
    """Whether nothing but the early value holds the lot: its verdict would release it, and no deviation is open."""
    would_go = record.verdict == "pass" and record.disposition == "hold"
    return bool(record.estimate) and would_go and not open_deviations(record.lot).exists()


def next_act(
    lot: Lot, runs: tuple[Run, ...], record: LotRecord | None, signed: list[Signature], stale: list[str]
) -> NextAct:
    """The one thing that brings a lot on.

    stale: why its last record no longer says what the bench knows.
    """
    if lot.state == "released":
        return NextAct("certificate", "The lot is released.")
    if lot.state == "rejected":
        return NextAct("none", "The lot is rejected: it goes nowhere.")
    if not runs:
        return NextAct("read", "No portion was read yet.")
    if record is None:
        return NextAct("judge", "Its runs are not judged yet.")
    if stale:
        return NextAct("judge", stale[0])
    if record.verdict == "more portions needed":
        return NextAct("read", "More portions are needed, then the lot is judged again.")
    if lot.state == "on hold" and _held_as_estimate(record):
        return NextAct("read", f"Its value is a {ESTIMATE}, and the method is not validated for it: {AGAIN}")
    if lot.state == "on hold":
        return NextAct("hold", "The lot is on hold: its deviations and its record decide what may be done.")
    if unkeyed := not_keyed_twice(runs):
        return NextAct("key", f"{len(unkeyed)} typed runs wait for a second keying by another person.")
    if not any(signature.meaning == "reviewed" for signature in signed):
        return NextAct("review", "The record waits for its review by a second person.")
    return NextAct("release", "The record is reviewed; a release officer decides.")

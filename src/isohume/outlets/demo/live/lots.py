"""Lots of a day: received by position, read and brought as a file, judged, reviewed and released as lists."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.outlets.demo.live.days import Day
from isohume.outlets.site.bench.actions.import_runs import ImportRuns
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.lots.actions.sign_records import SignRecords
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.register.models import Product

MINUTES = 7  # between two readings
APART = 0.0018  # half of what two portions of one place differ by at most: inside r = 2.8 s_r


@dataclass(frozen=True)
class Wanted:
    """A lot to be made: what each place of it will read, one value a cup."""

    code: str
    product: Product
    places: Mapping[str, Sequence[str]]


def pair(dice: random.Random, mean: float, count: int = 2) -> tuple[str, ...]:
    """Portions about a mean."""
    return tuple(f"{mean + max(-APART, min(APART, dice.gauss(0.0, 0.0011))):.4f}" for _ in range(count))


def receive(day: Day, wanted: Wanted, at: datetime) -> Lot:
    """The lot with a sample from each place, and its cups."""
    made = (day.on - timedelta(days=1)).isoformat()
    action = ReceiveLot(wanted.product, wanted.code, produced_on=made, received_at=at.isoformat())
    lot = perform(action, day.by("analyst", at))
    take(day, lot, wanted.places, at)
    return lot


def take(day: Day, lot: Lot, places: Mapping[str, Sequence[str]], at: datetime) -> None:
    """Samples of a lot, one a place."""
    for place, values in places.items():
        sample = ReceiveSample(lot, place, "", "yes", received_at=at.isoformat(), portions=len(values))
        perform(sample, day.by("analyst", at))


def read(day: Day, called: str, of: Sequence[tuple[Lot, Mapping[str, Sequence[str]]]], at: datetime) -> datetime:
    """Every cup of the named places read in turn, and the instrument's file brought; returns when it was brought."""
    rows, moment = ["lot,sample,portion,a_w,read_at,sample_temperature_c,block_temperature_c"], at
    for lot, places in of:
        for place, values in places.items():
            taken = lot.samples.get(position=place)
            for cup, a_w in zip(taken.portions.order_by("pk"), values, strict=True):
                sample = f"{25.0 + abs(day.dice.gauss(0.0, 0.08)):.1f}"
                rows.append(f"{lot.code},{taken.code},{cup.code},{a_w},{moment.isoformat()},{sample},25.0")
                moment += timedelta(minutes=MINUTES)
    name = f"{called}-{at:%Y-%m-%d-%H%M}.csv"
    instrument = day.bench.instruments[called]
    action = ImportRuns(instrument.site, name, ("\n".join(rows) + "\n").encode(), instrument=instrument)
    perform(action, day.by("analyst", moment))
    return moment


def judge(day: Day, lots: Sequence[Lot], at: datetime, reason: str = "") -> None:
    """Each lot's record."""
    for k, lot in enumerate(lots):
        perform(JudgeLot(lot, reason), day.by("analyst", at + timedelta(seconds=30 * k)))


def release(day: Day, lots: Sequence[Lot], at: datetime) -> None:
    """What may go is reviewed as one list, and released as another."""
    judged = LotRecord.objects.filter(lot__in=lots, disposition="release", lot__state="judged")
    last = {record.lot_id: record for record in judged.select_related("lot__site", "opening_check").order_by("pk")}
    for role, meaning, later in (("manager", "reviewed", 0), ("release officer", "released", 20)):
        if last:
            by = day.by(role, at + timedelta(minutes=later))
            proof = Proof(by.person.pk, by.at)
            perform(SignRecords(by.person.site, list(last.values()), meaning, proof, accepts_policy=True), by)

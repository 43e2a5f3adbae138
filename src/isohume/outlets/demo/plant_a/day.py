"""One day of plant A's bench, from the start sheet to the released lots."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from isohume.foundation.solutions import reference_value
from isohume.outlets.demo.plant_a.bench import Bench
from isohume.outlets.demo.plant_a.lots import Wanted, import_lots, judge_and_read_more, read_lot, receive
from isohume.outlets.site.bench.actions.hand_over import WriteHandOver
from isohume.outlets.site.bench.actions.key_second import KeySecond
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.lots.actions.sign_records import SignRecords
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.register.models import Instrument

ALL = ("LiCl", "MgCl2", "Mg(NO3)2", "NaCl")


@dataclass
class Day:
    """A day being lived: its clock, its dice, who is on the bench."""

    bench: Bench
    on: date
    dice: random.Random
    analyst: Person
    number: int
    lots: list[Lot] = field(default_factory=list)

    def at(self, hour: int, minute: int = 0) -> datetime:
        """A moment of this day in the plant's own time."""
        zone = ZoneInfo(self.bench.cast.site.time_zone)
        return datetime.combine(self.on, time(hour, minute), zone)


def start(day: Day, instrument: Instrument, at: datetime) -> None:
    """The start sheet: room, warm-up, block."""
    room, block = day.dice.gauss(21.5, 0.6), day.dice.gauss(25.0, 0.05)
    perform(
        FillStartSheet(
            instrument,
            day.bench.method,
            f"{room:.1f}",
            f"{day.dice.gauss(46, 5):.0f}",
            (at - timedelta(minutes=45)).isoformat(),
            f"{block:.1f}",
        ),
        By(day.analyst, at),
    )


def check(
    day: Day,
    instrument: Instrument,
    at: datetime,
    kind: str = "opening",
    formulas: tuple[str, ...] = ALL,
    off: dict[str, float] | None = None,
) -> Check:
    """A check on reference solutions; `off` is what is wrong with the instrument, by solution."""
    readings = []
    for k, formula in enumerate(formulas):
        temperature = f"{day.dice.gauss(25.0, 0.1):.1f}"
        expected = reference_value(formula, float(temperature)).a_w
        a_w = float(expected) + day.dice.gauss(0, 0.0008) + (off or {}).get(formula, 0.0)
        if off and formula in off:
            a_w = float(expected) + off[formula]
        moment = (at + timedelta(minutes=5 * k)).isoformat()
        bottle = day.bench.bottles[formula]
        readings.append({"bottle": bottle, "temperature_c": temperature, "a_w": f"{a_w:.4f}", "read_at": moment})
    done = at + timedelta(minutes=5 * len(formulas) - 4)
    return perform(RecordCheck(instrument, kind, day.bench.method, readings), By(day.analyst, done))


def soft_bars(day: Day, count: int = 10) -> Iterator[Wanted]:
    """The soft bars of two lines, as the plant makes them: mean 0.632, s 0.006, a quality limit of 0.650."""
    for k in range(1, count + 1):
        mean = min(day.dice.gauss(0.632, 0.006), 0.6435)
        pair = tuple(f"{mean + day.dice.gauss(0, 0.0014):.4f}" for _ in range(2))
        where = f"line {1 + k % 2}, middle of the run"
        yield Wanted(f"SB-{day.on:%m%d}-{k:02}", day.bench.soft_bar, where, "whole bar", pair)


def others(day: Day) -> Iterator[Wanted]:
    """The oat base of the day, and every third day a filled bar."""
    base = day.dice.gauss(0.29, 0.012)
    pair = tuple(f"{base + day.dice.gauss(0, 0.0014):.4f}" for _ in range(2))
    yield Wanted(f"OB-{day.on:%m%d}-01", day.bench.oat_base, "oven exit, left", "oat base", pair)
    if day.number % 3 == 0:
        filling = day.dice.gauss(0.53, 0.008)
        pair = tuple(f"{filling + day.dice.gauss(0, 0.0014):.4f}" for _ in range(2))
        yield Wanted(f"FB-{day.on:%m%d}-01", day.bench.filled_bar, "tray 9", "fruit filling", pair)


def usual(day: Day, wanted: list[Wanted], closing: bool = True) -> None:
    """A day without anything to tell: start, checks, lots, second keying, judging, signing, closing check."""
    bench = day.bench
    open_bench(day)
    measure(day, wanted)
    if closing:
        check(day, bench.dew_point, day.at(15, 30), "closing")
    second_keying(day, day.at(16, 0))
    finish(day, day.at(16, 30))


def open_bench(day: Day) -> None:
    """Both instruments: start sheets and opening checks."""
    bench = day.bench
    start(day, bench.dew_point, day.at(6, 0))
    start(day, bench.capacitance, day.at(6, 2))
    check(day, bench.dew_point, day.at(6, 5))
    check(day, bench.capacitance, day.at(6, 30))


def measure(day: Day, wanted: list[Wanted]) -> None:
    """Receive and read every lot: soft bars on the dew-point instrument, the rest on the other one."""
    bench, at = day.bench, day.at(7, 30)
    on_dew_point = [w for w in wanted if w.product == bench.soft_bar]
    received = {w: receive(day, w, at + timedelta(minutes=2 * k)) for k, w in enumerate(wanted)}
    day.lots += received.values()
    if day.number % 4 == 1:
        import_lots(day, bench.dew_point, {w: received[w] for w in on_dew_point}, day.at(8, 10))
    else:
        for k, w in enumerate(on_dew_point):
            read_lot(day, bench.dew_point, received[w], w, day.at(8, 10) + timedelta(minutes=14 * k))
    for k, w in enumerate(w for w in wanted if w.product != bench.soft_bar):
        read_lot(day, bench.capacitance, received[w], w, day.at(11, 0) + timedelta(minutes=20 * k))
    for k, w in enumerate(w for w in wanted if w.far_apart):
        judge_and_read_more(day, received[w], day.at(12, 10) + timedelta(minutes=20 * k))


def second_keying(day: Day, at: datetime) -> None:
    """The manager keys every typed number a second time."""
    runs = Run.objects.filter(portion__sample__lot__in=day.lots, imported=None, second_keyings=None)
    for k, run in enumerate(runs.select_related("portion__sample__lot__site", "by").order_by("pk")):
        perform(KeySecond(run, run.a_w), By(day.bench.cast.manager, at + timedelta(seconds=20 * k)))


def finish(day: Day, at: datetime) -> None:
    """Judge every lot, review what may be released as one list, release it as another."""
    for k, lot in enumerate(day.lots):
        if not lot.records.exists():
            perform(JudgeLot(lot), By(day.analyst, at + timedelta(seconds=30 * k)))
    cast = day.bench.cast
    sign(cast.manager, day.lots, "reviewed", at + timedelta(minutes=20))
    sign(cast.officer, day.lots, "released", at + timedelta(minutes=40))


def sign(person: Person, lots: list[Lot], meaning: str, at: datetime) -> None:
    """One act over the list of the lots' last records that are to be released."""
    judged = LotRecord.objects.filter(lot__in=lots, disposition="release", lot__state="judged")
    last = {record.lot_id: record for record in judged.select_related("lot__site", "opening_check").order_by("pk")}
    records = list(last.values())
    if records:
        proof = Proof(person.pk, at)
        perform(SignRecords(person.site, records, meaning, proof, accepts_policy=True), By(person, at))


def hand_over(day: Day, at: datetime, text: str) -> None:
    """A note for the next shift."""
    perform(WriteHandOver(day.bench.cast.site, text), By(day.analyst, at))

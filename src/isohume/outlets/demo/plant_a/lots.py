"""Lots of a day: received, read twice or imported, judged, read again where the judgement asks for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from isohume.outlets.site.bench.actions.import_runs import ImportRuns
from isohume.outlets.site.bench.actions.prepare_portion import PreparePortion
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.bench.actions.record_run import RecordRun
from isohume.outlets.site.bench.models import Lot, Portion, Run
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.register.models import Instrument, Product

if TYPE_CHECKING:
    from isohume.outlets.demo.plant_a.day import Day

R = Decimal("0.0056")


@dataclass(frozen=True)
class Wanted:
    """A lot to be made: where it was taken, and what its portions will read."""

    code: str
    product: Product
    position: str
    component: str
    a_w: tuple[str, ...]

    @property
    def far_apart(self) -> bool:
        """Whether two portions differ by more than r = 2.8 s_r of the plant's budget (s_r 0.0020)."""
        return abs(Decimal(self.a_w[0]) - Decimal(self.a_w[1])) > R


def receive(day: Day, wanted: Wanted, at: datetime) -> Lot:
    """A lot with one sample and its cups."""
    by = By(day.analyst, at)
    produced = (day.on - timedelta(days=1)).isoformat()
    lot = perform(ReceiveLot(wanted.product, wanted.code, produced_on=produced, received_at=at.isoformat()), by)
    cups = len(wanted.a_w)
    perform(ReceiveSample(lot, wanted.position, wanted.component, "yes", received_at=at.isoformat(), portions=cups), by)
    return lot


def portions_of(lot: Lot) -> list[Portion]:
    """The lot's cups in the order they were prepared."""
    related = "sample__lot__product__method", "sample__lot__specification", "sample__lot__site"
    return list(Portion.objects.filter(sample__lot=lot).select_related(*related).order_by("pk"))


def read_lot(day: Day, instrument: Instrument, lot: Lot, wanted: Wanted, at: datetime) -> None:
    """Each cup read once and typed."""
    for k, (portion, a_w) in enumerate(zip(portions_of(lot), wanted.a_w, strict=True)):
        read_portion(day, instrument, portion, a_w, at + timedelta(minutes=7 * k))


def read_portion(day: Day, instrument: Instrument, portion: Portion, a_w: str, at: datetime) -> Run:
    """One run, with the temperatures the instrument showed."""
    sample, block = _temperatures(day, instrument)
    run = RecordRun(portion, instrument, a_w, sample, block, at.isoformat())
    return perform(run, By(day.analyst, at + timedelta(seconds=40))).run


def _temperatures(day: Day, instrument: Instrument) -> tuple[str, str]:
    warm = 0.5 if instrument.measures_surface_temperature else 0.15
    return f"{25.0 + abs(day.dice.gauss(0, warm / 3)):.1f}", "25.0"


def import_lots(day: Day, instrument: Instrument, lots: dict[Wanted, Lot], at: datetime) -> None:
    """The same readings as a file, imported at once."""
    rows = ["lot,portion,a_w,read_at,sample_temperature_c,block_temperature_c"]
    k = 0
    for wanted, lot in lots.items():
        for portion, a_w in zip(portions_of(lot), wanted.a_w, strict=True):
            sample, block = _temperatures(day, instrument)
            moment = (at + timedelta(minutes=7 * k)).isoformat()
            rows.append(f"{lot.code},{portion.code},{a_w},{moment},{sample},{block}")
            k += 1
    content = ("\n".join(rows) + "\n").encode()
    name = f"{instrument.name}-{day.on.isoformat()}.csv"
    perform(
        ImportRuns(day.bench.cast.site, name, content, instrument=instrument),
        By(day.analyst, at + timedelta(minutes=7 * k)),
    )


def judge_and_read_more(day: Day, lot: Lot, at: datetime) -> None:
    """The pair is too far apart: the judgement asks for two more cups, which are read before the day is closed."""
    perform(JudgeLot(lot), By(day.analyst, at))
    run = Run.objects.filter(portion__sample__lot=lot).order_by("pk").first()
    assert run is not None
    for k in range(1, 3):
        portion = perform(PreparePortion(run.portion.sample), By(day.analyst, at + timedelta(minutes=1)))
        a_w = f"{float(run.a_w) + day.dice.gauss(0.001, 0.0012):.4f}"
        read_portion(day, run.instrument, portion, a_w, at + timedelta(minutes=7 * k))
    perform(JudgeLot(lot), By(day.analyst, at + timedelta(minutes=16)))

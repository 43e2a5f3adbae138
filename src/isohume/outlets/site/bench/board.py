"""The board of a shift: one row a cup that waits, with its clock, its temperature and what may be done with it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C
from isohume.bench.reading.portion_clock import Clock
from isohume.bench.reading.warm_sample import WarmSample
from isohume.outlets.site.bench.guard import Guarded
from isohume.outlets.site.bench.limits import asks_temperature, clock_of
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.bench.once import fresh_mark
from isohume.outlets.site.bench.rereads import nth_read
from isohume.outlets.site.register.models import Instrument, MethodVersion

FRESH = timedelta(minutes=15)
"""How long a measured temperature of a cup still stands for it (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Row:
    """One cup as the grid shows it."""

    portion: Portion
    method: MethodVersion | None
    clock: Clock | None
    temperature_c: str  # as measured a moment ago, else blank
    warm: WarmSample | None
    asks_temperature: bool
    read: str  # which read of the cup the next one is
    mark: str  # comes back with the row: sent twice, it is one run

    @property
    def reread(self) -> bool:
        """Whether the next read is a re-read."""
        return bool(self.portion.reads)

    @property
    def state(self) -> tuple[str, str]:
        """The cup's state in words and its mark."""
        if self.warm is not None and not self.warm.may_read:
            excess = self.warm.excess_k
            return f"wait: {abs(excess):.1f} K {'warmer' if excess > 0 else 'colder'} than the block", "wait"
        if self.clock is not None and self.clock.over:
            return self.clock.words, "due"
        return (self.clock.words if self.clock else "no method in force"), ""


@dataclass(frozen=True, slots=True)
class Around:
    """What stands around every row: the instrument and its block, and the moment."""

    instrument: Instrument | None
    block_temperature_c: str
    now: datetime


def rows_of(portions: Iterable[Portion], versions: dict[int, MethodVersion], around: Around) -> list[Row]:
    """The rows of these cups."""
    return [row_of(portion, versions.get(portion.sample.lot.product.method_id), around) for portion in portions]


def row_of(portion: Portion, method: MethodVersion | None, around: Around) -> Row:
    """The row of one cup."""
    temperature = fresh_temperature(portion, around.now)
    return Row(
        portion,
        method,
        clock_of(portion, method, around.now) if method else None,
        temperature,
        _warm(portion, method, around, temperature),
        bool(method and asks_temperature(method)),
        nth_read(portion.code, portion.reads + 1),
        fresh_mark(),
    )


def fresh_temperature(portion: Portion, now: datetime) -> str:
    """The temperature of a cup where it was measured a moment ago and a cup may be read at it; else blank."""
    if not portion.temperature_c or portion.temperature_at is None or now - portion.temperature_at > FRESH:
        return ""
    return portion.temperature_c if BENCH_LOW_C <= float(portion.temperature_c) <= BENCH_HIGH_C else ""


def _warm(portion: Portion, method: MethodVersion | None, around: Around, temperature_c: str) -> WarmSample | None:
    if method is None or around.instrument is None:
        return None
    specification = portion.sample.lot.specification
    return Guarded(specification, method, around.instrument, temperature_c, around.block_temperature_c).warm()

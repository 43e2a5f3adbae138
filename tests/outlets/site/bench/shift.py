"""A shift's bench for the tests of the bench app: a plant, one checked instrument, a lot with cups that wait."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from html import unescape
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from tests.outlets.site import make
from tests.outlets.site.lots.bench_day import Bench, make_bench

from isohume.outlets.site.bench.actions.prepare_portion import PreparePortion
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.bench.actions.record_run import Recorded, RecordRun
from isohume.outlets.site.bench.models import Lot, Portion, Sample
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person

GOOD = b"lot,portion,a_w,read_at,instrument\nSB-0916-03,A,0.632,2026-09-16T09:40,OW-1\n"
NOW = make.NOW  # 2026-09-16 09:00 UTC, 10:00 at the plant; the opening check was read at 06:00 UTC


@dataclass
class Shift:
    """The bench and the people at it."""

    bench: Bench

    @property
    def analyst(self) -> Person:
        """Who records."""
        return self.bench.analyst

    def by(self, person: Person | None = None, minutes: float = 0) -> By:
        """A person, so many minutes after NOW; the analyst where none is named."""
        return By(person or self.bench.analyst, NOW + timedelta(minutes=minutes))

    def lot(self, code: str = "SB-0916-03", **more: Any) -> Lot:
        """A lot of the soft oat bar."""
        return perform(ReceiveLot(self.bench.product, code, **more), self.by(minutes=-60))

    def sample(self, lot: Lot | None = None, **more: Any) -> Sample:
        """A sealed sample from the middle of line 2."""
        given = {"position": "line 2, middle", "sealed": "yes", **more}
        return perform(ReceiveSample(lot or self.lot(), **given), self.by(minutes=-50))

    def portion(self, sample: Sample | None = None, **more: Any) -> Portion:
        """A lidded cup."""
        return perform(PreparePortion(sample or self.sample(), **more), self.by(minutes=-40))

    def run(self, portion: Portion, a_w: str = "0.632", at: datetime | None = None, **more: Any) -> Recorded:
        """A run at the block's temperature."""
        given = {"sample_temperature_c": "25.0", "block_temperature_c": "25.0", **more}
        return perform(RecordRun(portion, self.bench.instrument, a_w, **given), By(self.analyst, at or NOW))


def make_shift(key: str = "harrow-lane", **specification: Any) -> Shift:
    """A shift with a competent analyst and manager."""
    bench = make_bench(key, **specification)
    for person in (bench.analyst, bench.manager):
        make.make_competent(person, bench.method)
    return Shift(bench)


def words(answer: HttpResponse) -> str:
    """The page's text without its marks, spaces drawn together."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())))


def upload(content: bytes, name: str = "ow1.csv") -> SimpleUploadedFile:
    """A file as a browser sends it."""
    return SimpleUploadedFile(name, content)

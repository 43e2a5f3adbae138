"""A small bench that speaks: its people, its instruments and bottles, its agent, and the hands that lay cups in."""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from isohume.bench.reading.settling import Sample
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.captures.actions.accept_run import AcceptRun
from isohume.outlets.site.captures.actions.expect_run import ExpectRun
from isohume.outlets.site.captures.actions.record_captured_check import RecordCapturedCheck
from isohume.outlets.site.captures.actions.void_captured import VoidCaptured
from isohume.outlets.site.captures.intake import take
from isohume.outlets.site.captures.models import Agent, CapturedRun
from isohume.outlets.site.captures.wire import read_posted
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, Product

ZONE = "Europe/London"


@dataclass(frozen=True, slots=True)
class Plant:
    """A plant and who works there: (user name, printed name, roles), the administrator last.

    u_other: everything but repeatability in the budget of its method.
    """

    name: str
    laboratory: str
    u_other: str
    people: tuple[tuple[str, str, tuple[str, ...]], ...]


@dataclass
class LiveBench:
    """A bench whose instruments speak. The clock goes on with every act."""

    now: datetime
    people: dict[str, Person]
    method: MethodVersion
    instruments: dict[str, Instrument] = field(default_factory=dict)
    bottles: dict[str, Bottle] = field(default_factory=dict)
    agent: Agent | None = None
    spool: str = field(default_factory=lambda: secrets.token_hex(16))
    entries: int = 0
    numbers: dict[str, int] = field(default_factory=dict)

    def by(self, role: str) -> By:
        """Somebody in this role, now; every act takes a minute."""
        self.now += timedelta(minutes=1)
        return By(self.people[role], self.now)

    def start(self, called: str) -> None:
        """The start sheet of an instrument."""
        since = (self.now - timedelta(minutes=50)).isoformat()
        perform(FillStartSheet(self.instruments[called], self.method, "21.2", "44", since, "25.0"), self.by("analyst"))

    def cups(self, product: Product, code: str, position: str, portions: int) -> list[Portion]:
        """A lot with one sealed sample and its cups."""
        lot = perform(ReceiveLot(product, code), self.by("analyst"))
        sample = perform(ReceiveSample(lot, position, "", "yes", portions=portions), self.by("analyst"))
        return list(sample.portions.select_related("sample__lot__product__method").order_by("pk"))

    def reads(self, called: str, of: Portion | Bottle, samples: Sequence[Sample]) -> CapturedRun:
        """Say what is next, lay it in, and let the agent bring what the instrument gave."""
        cup, bottle = (of, None) if isinstance(of, Portion) else (None, of)
        perform(ExpectRun(self.instruments[called], cup, bottle), self.by("analyst"))
        key = f"{called}-{self.numbers.setdefault(called, 0)}"
        self.numbers[called] += 1
        number = f"{self.numbers[called]:04d}"
        begun = self.now + timedelta(seconds=20)
        rows: list[dict[str, str]] = [{"kind": "start", "number": number}]
        rows += [_reading(one) for one in samples]
        rows.append({"kind": "end", "reason": "end line"})
        at = [begun, *(begun + timedelta(seconds=float(one.elapsed_s)) for one in samples)]
        at.append(at[-1] + timedelta(seconds=2))
        self._bring(called, key, rows, at)
        return CapturedRun.objects.get(spool__key=self.spool, key=key)

    def _bring(self, called: str, key: str, rows: list[dict[str, str]], at: list[datetime]) -> None:
        assert self.agent is not None, "the agent is registered first"
        first, self.entries = self.entries + 1, self.entries + len(rows)
        numbered = [
            {"n": first + place, "instrument": called, "run": key, "at": _iso(moment), **row}
            for place, (row, moment) in enumerate(zip(rows, at, strict=True))
        ]
        self.now = at[-1]
        body = {"spool": self.spool, "now": _iso(self.now), "waiting": 0, "entries": numbered}
        posted = read_posted(json.dumps(body).encode(), f"{self.spool}:{first}-{self.entries}")
        take(self.agent, posted, self.now)

    def check(self, called: str, readings: dict[str, Sequence[Sample]]) -> None:
        """An opening check from the traces of its references."""
        runs = [self.reads(called, self.bottles[name], samples) for name, samples in readings.items()]
        perform(RecordCapturedCheck(self.instruments[called], "opening", self.method, runs), self.by("analyst"))

    def accept(self, run: CapturedRun) -> None:
        """The analyst takes its reading."""
        perform(AcceptRun(run), self.by("analyst"))

    def void(self, run: CapturedRun, cause: str, reason: str) -> None:
        """A second person voids it with the cause that was found."""
        perform(VoidCaptured(run, cause, reason), self.by("manager"))


def _reading(one: Sample) -> dict[str, str]:
    names = ("elapsed_s", "a_w", "sample_temperature_c", "block_temperature_c")
    return {"kind": "reading", **{name: f"{getattr(one, name):f}" for name in names}}


def _iso(at: datetime) -> str:
    return at.astimezone(ZoneInfo("UTC")).isoformat(timespec="milliseconds").replace("+00:00", "Z")

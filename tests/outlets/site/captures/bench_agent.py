"""A bench agent for tests: a spool that posts its entries as the contract says."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import exp
from typing import Any
from unittest.mock import patch

from django.http import HttpResponse
from django.test import Client
from django.utils import timezone
from tests.outlets.site.bench.shift import NOW, Shift, make_shift

from isohume.outlets.site.bench.actions.record_run import Recorded
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.captures.actions.accept_run import AcceptRun
from isohume.outlets.site.captures.actions.expect_run import ExpectRun
from isohume.outlets.site.captures.actions.register_agent import RegisterAgent
from isohume.outlets.site.captures.models import Agent, CapturedRun, Expected
from isohume.outlets.site.ledger.actions import Action, perform

SPOOL = "0123456789abcdef0123456789abcdef"
INTAKE = "/api/v1/captured"


def iso(at: datetime) -> str:
    return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")


@dataclass
class BenchAgent:
    """It numbers what it sends, from 1."""

    agent: Agent
    token: str
    spool: str = SPOOL
    next: int = 1
    client: Client = field(default_factory=Client)

    def entry(self, kind: str, instrument: str = "OW-1", run: str = "r1", at: datetime = NOW, **more: str) -> Any:
        found = {"n": self.next, "kind": kind, "instrument": instrument, "run": run, "at": iso(at), **more}
        self.next += 1
        return found

    def run(self, key: str, trace: list[tuple[str, str]], at: datetime = NOW, *, ends: bool = True, **more: str) -> Any:
        """The entries of a whole run: (elapsed, a_w) pairs; more: temperatures of every reading, number, instrument."""
        number, instrument = more.pop("number", ""), more.pop("instrument", "OW-1")
        rows = [self.entry("start", instrument, key, at, number=number)]
        for elapsed, a_w in trace:
            when = at + timedelta(seconds=float(elapsed))
            rows.append(self.entry("reading", instrument, key, when, elapsed_s=elapsed, a_w=a_w, **more))
        if ends:
            last = at + timedelta(seconds=float(trace[-1][0]) if trace else 1)
            rows.append(self.entry("end", instrument, key, last, reason="end line"))
        return rows

    def post(
        self, entries: list[Any], now: datetime | None = None, server: datetime | None = None, **more: Any
    ) -> HttpResponse:
        """As the agent's sender does it; server: the site's own clock, which agrees where nothing is said."""
        latest = max((datetime.fromisoformat(one["at"]) for one in entries), default=NOW)
        body = {"spool": self.spool, "now": iso(now or latest), "waiting": 0, "entries": entries, **more}
        headers = {"Authorization": f"Bearer {self.token}"}
        if entries:
            headers["Idempotency-Key"] = f"{self.spool}:{entries[0]['n']}-{entries[-1]['n']}"
        with patch.object(timezone, "now", return_value=server or now or latest):
            return self.client.post(INTAKE, json.dumps(body), content_type="application/json", headers=headers)

    def brings(self, key: str, trace: list[tuple[str, str]], at: datetime = NOW, **more: Any) -> CapturedRun:
        """A whole run in one request."""
        answer = self.post(self.run(key, trace, at, **more))
        assert answer.status_code == 200, answer.content
        return CapturedRun.objects.get(spool__key=self.spool, key=key)


def make_agent(shift: Shift, called: str = "Bench 1", spool: str = SPOOL) -> BenchAgent:
    agent, token = perform(RegisterAgent(shift.bench.manager.site, called), shift.by(shift.bench.manager))
    return BenchAgent(agent, token, spool)


def make_captures() -> tuple[Shift, BenchAgent]:
    shift = make_shift()
    return shift, make_agent(shift)


def approach(end: float, start: float, tau_s: float = 60.0, until: int = 600, step: int = 5) -> list[tuple[str, str]]:
    """A reading that comes to rest: one exponential, four decimals, one every `step` seconds."""
    return [(f"{t:d}.0", f"{end + (start - end) * exp(-t / tau_s):.4f}") for t in range(0, until + 1, step)]


SETTLES = approach(0.6321, 0.4000, tau_s=40.0, until=480)
MOVES = approach(0.6321, 0.4000, tau_s=180.0, until=240)
WARM = {"sample_temperature_c": "25.0", "block_temperature_c": "25.0"}


def does(shift: Shift, action: Action, minutes: float = 0, *, manager: bool = False) -> object:
    return perform(action, shift.by(shift.bench.manager if manager else None, minutes))


def expects(shift: Shift, portion: Portion | None = None, minutes: float = -1, **more: object) -> Expected:
    return does(shift, ExpectRun(shift.bench.instrument, portion, **more), minutes)  # type: ignore


def accepts(shift: Shift, run: CapturedRun, minutes: float = 20, *, manager: bool = False, **more: str) -> Recorded:
    return does(shift, AcceptRun(run, **more), minutes, manager=manager)  # type: ignore

"""A bench agent for tests of the live page: it sends entries to the served site as `isohume capture` does."""

from __future__ import annotations

import json
import secrets
import urllib.request
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from tests import served
from tests.served import Plant

from isohume.bench.reading.settling.compact import Sample

REGISTER = """
from datetime import UTC, datetime
from isohume.outlets.site.captures.actions.register_agent import RegisterAgent
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
manager = Person.objects.get(username="mfarrow")
agent, token = perform(RegisterAgent(manager.site, "Bench room 2"), By(manager, datetime.now(UTC)))
print(token)
"""


@dataclass
class Agent:
    """A bench computer with its token."""

    plant: Plant
    token: str = ""
    spool: str = field(default_factory=lambda: secrets.token_hex(16))
    n: int = 0

    def __post_init__(self) -> None:
        self.token = served.in_the_site(self.plant.folder, REGISTER).strip()

    def start(self, instrument: str, run: str, number: str = "") -> None:
        """A run begins."""
        self._send([{"kind": "start", "instrument": instrument, "run": run, "number": number}])

    def read(self, instrument: str, run: str, samples: Iterable[Sample]) -> None:
        """Readings."""
        self._send([_reading(instrument, run, one) for one in samples])

    def end(self, instrument: str, run: str) -> None:
        """It ends."""
        self._send([{"kind": "end", "instrument": instrument, "run": run, "reason": "end line"}])

    def say(self, instrument: str, state: str, block_temperature_c: str) -> None:
        """The instrument's own state."""
        said = {"instrument": instrument, "run": "", "state": state, "block_temperature_c": block_temperature_c}
        self._send([{"kind": "state", **said}])

    def _send(self, entries: list[dict[str, Any]]) -> None:
        assert self.plant.served
        now = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        first = self.n + 1
        self.n += len(entries)
        numbered = [{"n": first + place, "at": now, **one} for place, one in enumerate(entries)]
        body = json.dumps({"spool": self.spool, "now": now, "waiting": 0, "entries": numbered}).encode()
        headers = {
            "Authorization": f"Bearer {self.token}",
            "Content-Type": "application/json",
            "Idempotency-Key": f"{self.spool}:{first}-{self.n}",
        }
        asked = urllib.request.Request(f"{self.plant.served.address}api/v1/captured", body, headers)
        with urllib.request.urlopen(asked, timeout=20) as answer:
            assert json.loads(answer.read())["last"] == self.n


def _reading(instrument: str, run: str, one: Sample) -> dict[str, str]:
    given = one._asdict() | {"state": "measuring"}
    numbers = {name: str(value) for name, value in given.items() if value is not None}
    return {"kind": "reading", "instrument": instrument, "run": run, **numbers}

"""Captured runs for tests: an agent whose readings are written as they come, piece by piece, and sealed at the end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from django.db import transaction

from isohume.bench.reading.settling.compact import Sample, pack
from isohume.outlets.site.captures.kept import seal
from isohume.outlets.site.captures.models import Agent, CapturedRun, Chunk, Spool
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Instrument


def samples(
    end: str = "0.6400", pace_s: float = 30.0, first: int = 0, last: int = 200, warm_k: float = 0.0
) -> list[Sample]:
    """One reading a second on the way from 0.2 below to where it ends; quiet, and rounded to four decimals."""
    found = []
    for t in range(first, last):
        excess = warm_k * math.exp(-t / 200.0)
        a_w = float(end) - 0.2 * math.exp(-t / pace_s) + 0.06 * float(end) * excess
        block = Decimal("25.0")
        found.append(Sample(Decimal(t), Decimal(f"{a_w:.4f}"), block + Decimal(f"{excess:.1f}"), block))
    return found


@dataclass
class Bench:
    """A bench computer of a plant."""

    agent: Agent
    spool: Spool

    def start(self, instrument: Instrument, key: str = "1", at: datetime | None = None) -> CapturedRun:
        """A run begins."""
        return CapturedRun.objects.create(
            site=instrument.site,
            instrument=instrument,
            agent=self.agent,
            spool=self.spool,
            key=key,
            number=key.zfill(4),
            started_at=at or datetime.now(UTC) - timedelta(minutes=5),
        )

    def read(self, run: CapturedRun, new: Sequence[Sample]) -> None:
        """Readings come."""
        with transaction.atomic():
            Chunk.objects.create(run=run, first=run.readings, count=len(new), body=pack(new))
            run.readings += len(new)
            run.last_a_w, run.last_elapsed_s = f"{new[-1].a_w}", f"{new[-1].elapsed_s}"
            run.save()

    def end(self, run: CapturedRun, reason: str = "end line") -> None:
        """The run ends; its trace becomes evidence."""
        run.ended_at, run.end_reason = datetime.now(UTC), reason
        with writing(run.ended_at) as evidence:
            seal(run, evidence)
            run.save()


def make_capture(person: Person, key: str = "0" * 32) -> Bench:
    """The bench computer of a person's plant."""
    now = datetime.now(UTC)
    agent = Agent.objects.create(site=person.site, name=key[:8], token_sha256=key, registered_at=now, by=person)
    return Bench(agent, Spool.objects.create(agent=agent, key=key))

"""The ledger's line about a run that has ended: written by the bench agent, not by a person."""

from __future__ import annotations

from typing import Any

from isohume.bench.record.canonical_form import canonical
from isohume.bench.record.transaction import Transaction
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.ledger.models import TrailLine

KIND = "run_captured"


def say_captured(run: CapturedRun, evidence: Transaction) -> None:
    """One line that speaks of the run, its instrument, its agent, and the cup or bottle that it is of."""
    of = run.portion or run.bottle
    about = [run.ref, run.instrument.ref, run.agent.ref, *([of.ref] if of is not None else [])]
    by = run.agent.ledger_name
    payload = {"about": about, "by": by, "name": by, "details": _details(run)}
    entry = evidence.append(KIND, run.ref, canonical(payload))
    TrailLine.objects.bulk_create(TrailLine(ref=ref, seq=entry.seq) for ref in about)


def _details(run: CapturedRun) -> dict[str, Any]:
    assert run.ended_at is not None, "a run that goes on is not told yet"
    said = {
        "instrument_number": run.number,
        "started_at": run.started_at.isoformat(),
        "time_not_certain": run.time_doubt,
        "ended_at": run.ended_at.isoformat(),
        "end_reason": run.end_reason,
        "taken_in": str(run.readings),
        "repeated": str(run.repeats) if run.repeats else "",
        "last_a_w": run.last_a_w,
        "of": run.of_words,
        "trace": run.trace_sha256,
    }
    return {name: value for name, value in said.items() if value}

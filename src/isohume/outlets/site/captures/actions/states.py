"""What must hold of a captured run before something is done with it, asked again under the write lock."""

from __future__ import annotations

from collections.abc import Iterable

from isohume.outlets.site.captures.causes import CAUSES
from isohume.outlets.site.captures.models import CapturedRun

FRESH = ("fate", "ended_at", "portion", "bottle", "assigned_by", "assigned_at", "run", "check_made", "trace_sha256")


def refuse_fate(run: CapturedRun) -> Iterable[str]:
    """A run whose fate is known keeps it. The row is read again."""
    run.refresh_from_db(fields=[*FRESH, "void_cause"])
    if run.fate == "accepted":
        yield f"It was accepted as run {run.run_id}: what is to be done is done with that run."
    elif run.fate == "checked":
        yield f"It is a reading of check {run.check_made_id}: a manager voids that check."
    elif run.fate == "void":
        yield f"It is void already: {CAUSES[run.void_cause]}."


def refuse_running(run: CapturedRun) -> Iterable[str]:
    """A run that goes on has no value yet."""
    if run.ended_at is None:
        yield "It is still running: wait for its end."

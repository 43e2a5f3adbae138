"""Readings that came after a run was accepted: what was made of it stays, and both are told beside each other."""

from __future__ import annotations

from isohume.bench.reading.runs import ESTIMATE
from isohume.outlets.site.captures.judged import Judged
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.value import NEVER, value_of


def came_after(run: CapturedRun) -> bool:
    """Whether an accepted run was made of less than is kept of its trace now."""
    return run.run is not None and run.run.trace_sha256 != run.trace_sha256


def said_after(run: CapturedRun, judged: Judged) -> str:
    """What is said of it beside the accepted run; empty where nothing came after."""
    if not came_after(run) or run.run is None or judged.found is None:
        return ""
    found, value = judged.found.finding.diagnosis, value_of(run, judged)
    accepted = f"Readings came after it was accepted: run {run.run_id} stays as it was made, with {run.run.a_w}"
    if found in NEVER:
        return f"{accepted}. By the whole trace it is {found}: void run {run.run_id} with that cause."
    if value is not None and (value.a_w, value.stopped) == (run.run.a_w, run.run.stopped):
        return f"{accepted}, and the whole trace says the same."
    says = "it has no value" if value is None else f"it is {value.a_w}, {_kind(value.stopped)}"
    return f"{accepted}. By the whole trace {says}: look at both before the lot is decided on."


def _kind(stopped: str) -> str:
    return f"a {ESTIMATE}" if stopped == ESTIMATE else stopped

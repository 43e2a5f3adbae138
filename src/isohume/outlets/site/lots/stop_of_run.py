"""How a run ended by the method's criterion, also where a later row corrected it."""

from __future__ import annotations

from isohume.bench.reading.runs import ESTIMATE
from isohume.outlets.site.bench.models import Run


def stop_of(run: Run) -> tuple[str, str]:
    """How a run ended, and the uncertainty of its value where that was taken too early; both empty where unknown.

    A correction is of the same attempt: no correction of a slip makes an estimate settled.
    """
    first = run
    while not first.stopped and first.corrects is not None:
        first = first.corrects
    return first.stopped, first.u_estimate


def estimate_words(run: Run) -> str:
    """What is said beside a value that was taken too early; empty for every other."""
    stopped, u = stop_of(run)
    if stopped != ESTIMATE:
        return ""
    return f"{ESTIMATE}, u {u}" if u else f"{ESTIMATE}, its uncertainty is not known"

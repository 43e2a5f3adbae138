"""What the page of a captured run says first, and the figures below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from isohume.bench.reading.runs import ESTIMATE
from isohume.outlets.site.bench.actions.decided import DECIDED
from isohume.outlets.site.captures.after_acceptance import came_after
from isohume.outlets.site.captures.causes import CAUSES
from isohume.outlets.site.captures.judged import Judged
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.sequence import InOrder

SHAPES = {
    "settled": "pass", "still moving": "run", "slow": "wait", "stopped early": "due", "unfamiliar": "due",
}  # fmt: skip
Facts = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Says:
    """The answer, its mark, and a note beside it."""

    answer: str
    shape: str
    note: str


def headline(run: CapturedRun, judged: Judged, in_order: Sequence[InOrder] = ()) -> Says:
    """Can it be believed: its fate where it has one, else what the order of runs says, else what the trace says."""
    note = f"{run.named.capitalize()} of {run.instrument.name}, " + (run.of_words or "whose nobody has said yet")
    if run.portion is not None and run.fate == "waiting" and (lot := run.portion.sample.lot).state in DECIDED:
        note += f", whose lot {lot.code} is {lot.state} already"
    if run.fate == "void":
        return Says(f"Void: {CAUSES[run.void_cause]}", "void", note)
    if run.fate == "checked":
        return Says(f"A reading of check {run.check_made_id}", "pass", note)
    if run.run is not None:
        word = "an estimate" if run.run.stopped == ESTIMATE else "settled"
        if came_after(run):
            return Says(f"Accepted as run {run.run_id}, {word}: {run.run.a_w}; readings came since", "due", note)
        return Says(f"Accepted as run {run.run_id}, {word}: {run.run.a_w}", "pass", note)
    if in_order:
        return Says(f"{in_order[0].name.capitalize()}: run it again", "fail", note)
    if judged.found is None:
        return Says("No reading yet" if run.ended_at is None else "It gave no reading", "wait", note)
    said = judged.found.finding.diagnosis
    shape = SHAPES.get(said, "fail")
    if run.ended_at is not None and run.of is None:
        shape = "due" if shape == "pass" else shape
    waits = "" if run.ended_at is None else "; it waits for a person" if run.of else "; nobody has said whose it is"
    return Says(f"{said.capitalize()}{waits}", shape, note)


def judged_facts(judged: Judged) -> Facts:
    """What was found, in figures."""
    found = judged.found
    if found is None:
        return [("Criterion", judged.criterion.words)]
    rows = [("Criterion", judged.criterion.words)]
    if found.settled_at_s is not None and found.value is not None:
        rows.append(("Settled", f"at {found.settled_at_s:.0f} s with {found.value:.4f}, u {found.u:.4f}"))
    if found.finding.diagnosis == "volatile":
        rows.append(("Forecast of the end", "none: what climbs without slowing down has no end"))
    elif found.forecast is not None:
        end = found.forecast
        rows.append(("Forecast of the end", f"{end.value:.4f}, 95 % between {end.low:.4f} and {end.high:.4f}"))
    else:
        rows.append(("Forecast of the end", "none before the sixth reading"))
    return rows


def readings_facts(run: CapturedRun, judged: Judged) -> Facts:
    """How many readings, and which of them could not be judged."""
    rows = [("Readings", str(run.readings))]
    if run.time_doubt:
        rows.append(("When it began is not certain", run.time_doubt))
    if run.repeats:
        rows.append(("Came twice, kept once", str(run.repeats)))
    left_out = len(judged.samples) - len(judged.usable)
    if left_out:
        rows.append(("Kept, not judged", f"{left_out}, whose clock did not go on"))
    return rows

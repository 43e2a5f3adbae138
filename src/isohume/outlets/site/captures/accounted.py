"""One line of the accounting: a word for what came of a run, then its number, and the story in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from isohume.bench.reading.runs import ESTIMATE
from isohume.outlets.site.bench.models import InProcessReading, Run
from isohume.outlets.site.captures.after_acceptance import came_after
from isohume.outlets.site.captures.causes import CAUSES
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.checks.models import CheckReading

ORDINALS = {2: "second", 3: "third", 4: "fourth", 5: "fifth"}


@dataclass(frozen=True, slots=True)
class Accounted:
    """A run in the order of the instrument. word: what came of it, for the eye and the totals."""

    word: str
    shape: str
    number: str
    at: datetime
    pk: int
    of: str = ""
    of_url: str = ""
    a_w: str = ""
    words: str = ""
    url: str = ""
    named: str = ""
    ref: str = ""  # in the ledger: the run itself, or the run before which numbers are missing
    missing: int = 0
    deviation: int | None = None  # the last one that was opened about it

    def with_words(self, said: str) -> Accounted:
        """With something more to be said of its number."""
        if not said:
            return self
        sentence = said[0].upper() + said[1:]
        return replace(self, words=f"{self.words} {sentence}.".strip())


def of_captured(run: CapturedRun, nth: int) -> Accounted:
    """A run that an agent brought."""
    word, shape, words = _fate(run)
    if nth > 1:
        words = f"{ORDINALS.get(nth, f'{nth}th').capitalize()} run of this cup in the span. {words}"
    of = run.of
    return Accounted(
        word, shape, run.number, run.started_at, run.pk,
        of=run.of_words, of_url=of.get_absolute_url() if of is not None else "",
        a_w=_last_of(run.run).a_w if run.run else run.last_a_w,
        words=words, url=run.get_absolute_url(), named=run.named, ref=run.ref,
    )  # fmt: skip


def _fate(run: CapturedRun) -> tuple[str, str, str]:
    if run.fate == "void":
        by = f"{CAUSES[run.void_cause].capitalize()}. {run.void_reason}".strip()
        return "void", "void", f"{by.rstrip('.')}, {run.voided_by}."
    if run.fate == "checked":
        return "check", "pass", f"A reading of check {run.check_made_id}."
    if run.run is not None:
        word, shape, said = _accepted(_last_of(run.run))
        return word, shape, f"{said} Readings came after it was accepted: see its page." if came_after(run) else said
    if run.ended_at is None:
        return "running", "run", "It goes on, or its agent is silent."
    if run.of is None:
        return "nobody has said whose", "fail", "An orphan: assign it, or void it with its cause."
    return "waits for a person", "wait", "Accept it, or void it with its cause."


def _accepted(run: Run) -> tuple[str, str, str]:
    if run.void_reason:
        return "void", "void", f"Run {run.pk}, voided by {run.voided_by}: {run.void_reason.rstrip('.')}."
    word = "estimate" if run.stopped == ESTIMATE else "counts"
    said = f"Run {run.pk}, a non-equilibrium estimate." if word == "estimate" else f"Run {run.pk}."
    return word, "due" if word == "estimate" else "pass", said


def _last_of(run: Run) -> Run:
    """The run, or the last of its corrections."""
    while hasattr(run, "corrected_by"):
        run = run.corrected_by
    return run


def of_run(run: Run) -> Accounted:
    """A run that was typed or imported, with its correction in its place."""
    last = _last_of(run)
    word, shape, words = _accepted(last)
    came = f"Imported from {run.imported.name}." if run.imported else f"Typed by {run.by}."
    corrected = f" Corrected by run {last.pk}." if last is not run else ""
    return Accounted(
        word, shape, run.instrument_number, run.read_at, run.pk,
        of=f"cup {run.portion}", of_url=run.portion.get_absolute_url(), a_w=last.a_w,
        words=f"{words} {came}{corrected}", url=run.get_absolute_url(), named=f"run {run.pk}", ref=run.ref,
    )  # fmt: skip


def of_check_reading(reading: CheckReading) -> Accounted:
    """A typed reading of a reference solution."""
    check = reading.of_check
    void = f" Void: {check.void_reason.rstrip('.')}." if check.voided_at else ""
    return Accounted(
        "void" if void else "check", "void" if void else "pass", "", reading.read_at, reading.pk,
        of=str(reading.bottle), of_url=reading.bottle.get_absolute_url(), a_w=reading.a_w,
        words=f"A reading of check {check.pk}, typed by {check.by}.{void}", url=check.get_absolute_url(),
        named=f"check {check.pk}", ref=check.ref,
    )  # fmt: skip


def of_in_process(reading: InProcessReading) -> Accounted:
    """A reading for the line."""
    return Accounted(
        "for the line", "info", "", reading.read_at, reading.pk,
        of=str(reading.product), of_url=reading.product.get_absolute_url(), a_w=reading.a_w,
        words=f"In-process reading at {reading.where}, typed by {reading.by}. It belongs to no lot.",
        url=reading.get_absolute_url(), named=f"in-process reading {reading.pk}", ref=reading.ref,
    )  # fmt: skip

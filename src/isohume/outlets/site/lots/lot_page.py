"""Everything the page of one lot shows, gathered once: the answer, the evidence under it, the next act beside it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from isohume.bench.record.signature import Signature
from isohume.outlets.paper.record_words import limits_words, sentence
from isohume.outlets.site.bench.models import Lot, Run, Sample
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.look.screen_line import ScreenLine
from isohume.outlets.site.lots.changes import changes_of
from isohume.outlets.site.lots.companion_numbers import moisture_of, ph_of
from isohume.outlets.site.lots.evidence_of_lot import check_after, runs_of
from isohume.outlets.site.lots.frozen import frozen, outdated, questions
from isohume.outlets.site.lots.how_words import How, hows_of
from isohume.outlets.site.lots.lot_inputs import void_reason
from isohume.outlets.site.lots.lot_line import lot_line
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.next_act import NextAct, next_act
from isohume.outlets.site.lots.queries import related_deviations
from isohume.outlets.site.lots.shapes import STATES, shape_of_verdict
from isohume.outlets.site.lots.state_of_lot import last_record
from isohume.outlets.site.lots.stop_of_run import estimate_words


@dataclass(frozen=True, slots=True)
class RunRow:
    """A run with the use that its record made of it."""

    run: Run
    use: str
    why: str
    keyed: str
    corrected: str = ""
    early: str = ""


@dataclass(frozen=True, slots=True)
class SampleRows:
    """A sample, its position, and its runs in time order."""

    sample: Sample
    rows: list[RunRow]


@dataclass(frozen=True, slots=True)
class LotPage:
    """The page of a lot."""

    lot: Lot
    record: LotRecord | None
    content: dict[str, Any] | None
    answer: str
    shape: str
    verdict_shape: str
    limits: str
    line: ScreenLine | None
    next: NextAct
    stale: list[str]
    signed: list[Signature]
    samples: list[SampleRows]
    route: str
    checks: list[tuple[str, Check]]
    companions: list[tuple[Any, Any]]
    changes: list[str]
    hows: dict[str, How]
    earlier: list[LotRecord]
    deviations: list[Any]


def lot_page(lot: Lot) -> LotPage:
    """The page of a lot as it stands now."""
    record, runs = last_record(lot), runs_of(lot)
    content = frozen(record.record).content if record else None
    stale = outdated(record, content, runs) if record and content else []
    signed = questions().signatures_of(record.record) if record else []
    act = next_act(lot, runs, record, signed, stale)
    version = lot.specification
    sides = ((version.lower, version.lower_operator), (version.upper, version.upper_operator))
    return LotPage(
        lot=lot,
        record=record,
        content=content,
        answer=_answer(lot, record, act),
        shape=STATES[lot.state],
        verdict_shape=shape_of_verdict(record.verdict, record.disposition, lot.state) if record else "wait",
        limits=limits_words(*({"value": value, "operator": operator} if value else None for value, operator in sides)),
        line=lot_line(lot, runs, content),
        next=act,
        stale=stale,
        signed=signed,
        samples=_samples(lot, runs, content),
        route=_route(content),
        checks=_checks(runs),
        companions=_companions(lot),
        changes=changes_of(lot, runs),
        hows=hows_of(content) if content else {},
        earlier=list(lot.records.order_by("-pk"))[1:],
        deviations=list(related_deviations(lot)),
    )


def _answer(lot: Lot, record: LotRecord | None, act: NextAct) -> str:
    """Yes, no or not yet, and the word that decides."""
    if lot.state == "released":
        return "Yes: released"
    if lot.state in ("on hold", "rejected"):
        return f"No: {lot.state}"
    if record is None:
        return "Not yet: not judged"
    waits = {"review": "it waits for its review", "release": "it waits for its release", "judge": "judge it again"}
    waits["key"] = "it waits for a second keying"
    return f"Not yet: {record.verdict}" + (f", {waits[act.act]}" if act.act in waits else "")


def _samples(lot: Lot, runs: tuple[Run, ...], content: dict[str, Any] | None) -> list[SampleRows]:
    known = {str(reading["run"]): reading for reading in content["readings"]} if content else {}
    by_sample: dict[int, list[RunRow]] = {}
    for run in runs:
        by_sample.setdefault(run.portion.sample_id, []).append(_row(run, known.get(str(run.pk))))
    return [SampleRows(sample, by_sample.get(sample.pk, [])) for sample in lot.samples.order_by("pk")]


def _row(run: Run, reading: dict[str, Any] | None) -> RunRow:
    why_void = void_reason(run)
    if reading is None:
        use, why = ("void", why_void) if why_void else ("not judged yet", "")
    else:
        use, why = reading["use"], " ".join(reading["reasons"])
    moved = (reading or {}).get("corrected_a_w")
    corrected = f"{float(moved):.5f}" if moved is not None else ""
    return RunRow(run, use, why, _keyed(run), corrected, estimate_words(run))


def _keyed(run: Run) -> str:
    if run.imported_id is not None:
        return f"imported, row {run.imported_row}"
    if not run.typed:
        return "captured"
    last = run.second_keyings.exclude(by=run.by_id).order_by("pk").last()
    if last is None:
        return "once"
    return f"twice, {'alike' if last.agrees else 'and they differ'}"


def _route(content: dict[str, Any] | None) -> str:
    """How many runs there are of each use, and how they became a value."""
    if content is None:
        return ""
    uses = Counter(reading["use"] for reading in content["readings"])
    counted = ", ".join(
        f"{n} {use}{'s' if n > 1 and use != 'refused' and use != 'void' else ''}" for use, n in uses.items()
    )
    route = content["decision"]["route"]
    return sentence(f"{counted}; {route}." if route else f"{counted}.")


def _checks(runs: tuple[Run, ...]) -> list[tuple[str, Check]]:
    """The checks around the runs that count: the opening ones, and what closes them."""
    counting = tuple(run for run in runs if run.counts) or runs
    found = {run.opening_check_id: ("before", run.opening_check) for run in counting}
    closing = check_after(counting) if counting else None
    return [*found.values(), *([("after", closing)] if closing else [])]


def _companions(lot: Lot) -> list[tuple[Any, Any]]:
    """Every moisture and pH with what it says; the last of each kind is the one of the record."""
    moistures = [(found, moisture_of(found)) for found in lot.moistures.select_related("by").order_by("pk")]
    return [*moistures, *((found, ph_of(found)) for found in lot.phs.select_related("by").order_by("pk"))]

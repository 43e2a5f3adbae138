"""Runs of a readings file: one attempt on one instrument each, and what use may be made of it.

A second read of one cup is a re-read, not a replicate; a void run stays in the list with its cause; every row of
the file is accounted for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Literal

from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C, not_in_future
from isohume.bench.reading.remarks import Remarks
from isohume.bench.reading.tables import Row, read_rows
from isohume.bench.reading.warm_sample import WarmSample, judge_warm_sample
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c, read_time, read_words

REQUIRED = ("portion", "a_w", "read_at")
COLUMNS = (
    "run", "portion", "position", "component", "a_w", "read_at", "sample_temperature_c", "block_temperature_c",
    "void_reason", "override_reason",
)  # fmt: skip
LONGEST_REASON = 1000
Use = Literal["replicate", "re-read", "void", "other component", "refused"]


@dataclass(frozen=True, slots=True)
class Run:
    """One row of the readings file as typed."""

    row: int
    run: str
    portion: str
    position: str
    component: str
    a_w: Decimal
    read_at: datetime
    sample_temperature_c: Decimal | None
    block_temperature_c: Decimal | None
    void_reason: str
    override_reason: str


@dataclass(frozen=True, slots=True)
class Judged:
    """A run with the use that may be made of it and why."""

    run: Run
    use: Use
    warm: WarmSample | None = None
    reasons: tuple[str, ...] = field(default=())

    def as_json(self) -> dict[str, object]:
        """The run as the record keeps it: numbers as typed."""
        run = self.run
        return {
            "row": run.row,
            "run": run.run,
            "portion": run.portion,
            "position": run.position,
            "component": run.component,
            "a_w": str(run.a_w),
            "read_at": run.read_at.isoformat(),
            "sample_temperature_c": None if run.sample_temperature_c is None else str(run.sample_temperature_c),
            "block_temperature_c": None if run.block_temperature_c is None else str(run.block_temperature_c),
            "use": self.use,
            "reasons": list(self.reasons),
        }


def read_runs(
    path: Path, now: datetime, mapping: dict[str, str] | None = None, notes: list[str] | None = None
) -> list[Run]:
    """The runs of a readings file, in the file's order.

    path: CSV or XLSX file [text] with columns portion, a_w, read_at and, optionally, run, position, component,
        sample_temperature_c, block_temperature_c, void_reason, override_reason.
    now: the moment of reading, against which the future is refused [time].
    mapping: our column name -> the file's [text].
    notes: collects remarks such as a decimal comma read as a point [text].
    Returns: the runs [text], at least one.
    Raises: InputError naming file, row, field, value and what is allowed; a run number twice.
    Source: none.
    """
    runs: list[Run] = []
    seen: dict[str, int] = {}
    remarks = Remarks(path.name)
    for row in read_rows(path, REQUIRED, mapping, COLUMNS):
        said: list[str] = []
        try:
            run = _run(row, now, said)
            if run.run in seen:
                raise InputError("run", run.run, f"each run number once (row {seen[run.run]} has it)")
        except InputError as error:
            raise error.at(row=row.number, file=path.name) from None
        seen[run.run] = run.row
        runs.append(run)
        remarks.add(row.number, said)
    if notes is not None:
        notes.extend(remarks.lines())
    return runs


def _run(row: Row, now: datetime, notes: list[str]) -> Run:
    portion = read_words(row.get("portion"), "portion")
    if not portion:
        raise InputError("portion", "", "the name of the cup that was read (a re-read keeps its portion's name)")
    return Run(
        row=row.number,
        run=read_words(row.get("run"), "run") or str(row.number - 1),
        portion=portion,
        position=read_words(row.get("position"), "position"),
        component=read_words(row.get("component"), "component"),
        a_w=read_a_w(row.get("a_w"), notes=notes),
        read_at=not_in_future(read_time(row.get("read_at"), "read_at", notes), "read_at", now),
        sample_temperature_c=_temperature(row, "sample_temperature_c", notes),
        block_temperature_c=_temperature(row, "block_temperature_c", notes),
        void_reason=read_words(row.get("void_reason"), "void_reason", LONGEST_REASON),
        override_reason=read_words(row.get("override_reason"), "override_reason", LONGEST_REASON),
    )


def _temperature(row: Row, field_name: str, notes: list[str]) -> Decimal | None:
    text = row.get(field_name)
    return read_temperature_c(text, field_name, notes, BENCH_LOW_C, BENCH_HIGH_C) if text else None


@dataclass(frozen=True, slots=True)
class ReadingRules:
    """What the method and the product say about a usable reading."""

    component: str
    expected_a_w: float
    measures_surface_temperature: bool
    block_temperature_c: float
    block_tolerance_k: float
    mismatch_limit_k: float | None = None


def judge_runs(runs: Iterable[Run], rules: ReadingRules) -> list[Judged]:
    """The use that may be made of every run, in time order; nothing is left out.

    runs: the runs of one lot [text].
    rules: what method and product say about a usable reading [text].
    Returns: one Judged a run [text]: replicate, re-read, void, other component or refused, with reasons.
    Raises: InputError where a component is missing although the specification names one and the file has the column.
    Source: ISO5725-6 (a replicate is a new portion).
    """
    first_read: dict[str, Run] = {}
    judged = []
    for run in sorted(runs, key=lambda run: (run.read_at, run.row)):
        verdict = _judge(run, rules, first_read)
        if verdict.use == "replicate":
            first_read[run.portion] = run
        judged.append(verdict)
    return judged


def _judge(run: Run, rules: ReadingRules, first_read: dict[str, Run]) -> Judged:
    if run.void_reason:
        return Judged(run, "void", reasons=(f"Void: {run.void_reason}",))
    if run.component and rules.component and run.component != rules.component:
        return Judged(
            run,
            "other component",
            reasons=(f"The specification speaks of {rules.component!r}, not {run.component!r}.",),
        )
    if run.block_temperature_c is not None:
        off = float(run.block_temperature_c) - rules.block_temperature_c
        if abs(off) > rules.block_tolerance_k + 1e-9:
            return Judged(
                run,
                "refused",
                reasons=(
                    f"Block at {run.block_temperature_c} degC, outside the method's {rules.block_temperature_c:g} "
                    f"+- {rules.block_tolerance_k:g} degC.",
                ),
            )
    warm = _warm(run, rules)
    if warm is not None and not warm.may_read:
        return Judged(run, "refused", warm, warm.reasons)
    reasons = warm.reasons if warm else ()
    if earlier := first_read.get(run.portion):
        again = f"Portion {run.portion} was read before (run {earlier.run}): a re-read is not a replicate."
        return Judged(run, "re-read", warm, (*reasons, again))
    return Judged(run, "replicate", warm, reasons)


def _warm(run: Run, rules: ReadingRules) -> WarmSample | None:
    if run.sample_temperature_c is None:
        return None
    block = float(run.block_temperature_c) if run.block_temperature_c is not None else rules.block_temperature_c
    return judge_warm_sample(
        float(run.sample_temperature_c),
        block,
        rules.expected_a_w,
        rules.measures_surface_temperature,
        rules.mismatch_limit_k,
        run.override_reason,
    )

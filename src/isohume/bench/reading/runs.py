"""Runs of a readings file as typed: one attempt on one instrument each, every row kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C, not_in_future
from isohume.bench.reading.remarks import Remarks
from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c, read_time, read_words

REQUIRED = ("portion", "a_w", "read_at")
STOP_COLUMNS = ("stopped", "u_estimate")
COLUMNS = (
    "run", "portion", "position", "component", "a_w", "read_at", "sample_temperature_c", "block_temperature_c",
    "void_reason", "override_reason", "instrument", *STOP_COLUMNS,
)  # fmt: skip
LONGEST_REASON = 1000
SETTLED, ESTIMATE = "settled", "non-equilibrium estimate"
SMALLEST_U = Decimal("0.000001")
LARGEST_U = Decimal("0.5")
"""A value less certain than that says nothing of a water activity (no source)."""


@dataclass(frozen=True, slots=True)
class Run:
    """One row of the readings file as typed; `stopped` says how it ended by the method's criterion, where known."""

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
    instrument: str = ""
    stopped: str = ""
    u_estimate: Decimal | None = None

    @property
    def is_estimate(self) -> bool:
        """Whether the value was taken before the method's criterion was met."""
        return self.stopped == ESTIMATE


def read_runs(
    path: Path, now: datetime, mapping: dict[str, str] | None = None, notes: list[str] | None = None
) -> list[Run]:
    """The runs of a readings file, in the file's order.

    path: CSV or XLSX file [text] with columns portion, a_w, read_at and, optionally, run, position, component,
        sample_temperature_c, block_temperature_c, void_reason, override_reason, stopped, u_estimate.
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
    stopped = _stopped(row)
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
        instrument=read_words(row.get("instrument"), "instrument"),
        stopped=stopped,
        u_estimate=_u_estimate(row, stopped, notes),
    )


def _stopped(row: Row) -> str:
    text = row.get("stopped")
    if text not in ("", SETTLED, ESTIMATE):
        raise InputError("stopped", text, f"{SETTLED}, {ESTIMATE}, or nothing where nobody can tell")
    return text


def _u_estimate(row: Row, stopped: str, notes: list[str]) -> Decimal | None:
    """The estimate's own uncertainty; one beside a settled value would be counted by nobody."""
    text = row.get("u_estimate")
    if not text:
        return None
    if stopped != ESTIMATE:
        raise InputError("u_estimate", text, f"nothing, but for a value that stopped as {ESTIMATE}")
    u = read_decimal(text, "u_estimate", notes=notes)
    if not SMALLEST_U <= u <= LARGEST_U:
        raise InputError(
            "u_estimate", text, f"a standard uncertainty in a_w, at least {SMALLEST_U:f} and at most {LARGEST_U}"
        )
    return u


def _temperature(row: Row, field_name: str, notes: list[str]) -> Decimal | None:
    text = row.get(field_name)
    return read_temperature_c(text, field_name, notes, BENCH_LOW_C, BENCH_HIGH_C) if text else None

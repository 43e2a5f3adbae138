"""The runs of a morning in the order they were read, from a folder with a `sequence.csv`."""

from __future__ import annotations

from pathlib import Path

from isohume.bench.reading.diagnosis.carry_over import SequenceRun
from isohume.bench.reading.settling.trace_file import read_trace
from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_words

NAME = "sequence.csv"
COLUMNS = ("run", "a_w", "file", "expected", "u_expected")


def read_sequence(folder: Path, notes: list[str] | None = None) -> list[SequenceRun]:
    """The runs of a folder's sequence.csv, in the file's order.

        run, and a_w or file; expected and u_expected where the run's a_w is known
    folder: holds sequence.csv and the trace files it names [text].
    notes: collects remarks such as a decimal comma read as a point [text].
    Returns: the runs [1], at least two.
    Raises: InputError naming file, row, field, value and what is allowed.
    Source: none.
    """
    path = folder / NAME
    if not path.is_file():
        raise InputError("sequence", folder.name, f"a folder with {NAME}: columns {', '.join(COLUMNS)}")
    runs = []
    for row in read_rows(path, ("run",), None, COLUMNS):
        try:
            runs.append(_run(row, folder, notes))
        except InputError as error:
            raise error.at(row=row.number, file=NAME) from None
    if len(runs) < 2:
        raise InputError("sequence", f"{len(runs)} runs", "at least two runs")
    return runs


def _run(row: Row, folder: Path, notes: list[str] | None) -> SequenceRun:
    name, file, typed = read_words(row.get("run"), "run"), row.get("file"), row.get("a_w")
    if not name:
        raise InputError("run", "", "the run's number or name")
    if bool(file) == bool(typed):
        raise InputError("a_w", typed, "a value, or in `file` the name of a trace file beside this one; not both")
    if file and Path(file).name != file:
        raise InputError("file", file, "the name of a file in the same folder")
    a_w = float(read_trace(folder / file, notes=notes).a_w[-1]) if file else float(read_a_w(typed, notes=notes))
    expected, u = row.get("expected"), row.get("u_expected")
    u_expected = read_decimal(u, "u_expected", "a standard uncertainty, 0 to 0.1") if u else None
    if u_expected is not None and not 0 <= u_expected < 1:
        raise InputError("u_expected", u, "a standard uncertainty, 0 to 0.1")
    return SequenceRun(name, a_w, float(read_a_w(expected, "expected")) if expected else None, float(u_expected or 0))

"""What kills left of a site, looked at by plain SQL on a copy: the register and the ledger tell the same story."""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from isohume.bench.record.tables import DATABASE
from isohume.bench.record.verification import verify

TRAIL = "ledger_trailline"
JOBS = "work_job"


@contextmanager
def looked_at(folder: Path) -> Iterator[sqlite3.Connection]:
    """A copy of the database as it lies there, its log included."""
    with tempfile.TemporaryDirectory(prefix="isohume-looked-at-") as place:
        copy = Path(place) / DATABASE
        shutil.copyfile(folder / DATABASE, copy)
        log = folder / f"{DATABASE}-wal"
        if log.exists():
            shutil.copyfile(log, f"{copy}-wal")
        with closing(sqlite3.connect(copy)) as connection:
            yield connection


def faults_of_site(folder: Path) -> list[str]:
    """Everything that does not agree; call it while nobody writes."""
    found = verify(folder)
    faults = [] if found.verified else [f"verify: {found.first_bad}"]
    with looked_at(folder) as connection:
        tables = {str(row[0]) for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        faults += _lines_without_their_rows(connection, tables)
        faults += _trail_that_differs(connection)
        faults += _papers_missing(connection, folder)
    return faults


def _lines_without_their_rows(connection: sqlite3.Connection, tables: set[str]) -> list[str]:
    """A line about `model:7` was written together with row 7 of the model's table."""
    faults = []
    for seq, ref in connection.execute("SELECT seq, ref FROM ledger ORDER BY seq"):
        model, mark, key = str(ref).partition(":")
        table = next((name for name in sorted(tables) if name.endswith(f"_{model}")), None)
        if not mark or not key.isdigit() or table is None:
            continue
        if connection.execute(f'SELECT 1 FROM "{table}" WHERE id = ?', (int(key),)).fetchone() is None:
            faults.append(f"ledger line {seq} speaks of {ref}, which is not there")
    return faults


def _trail_that_differs(connection: sqlite3.Connection) -> list[str]:
    """The trail is a projection of what the lines say they are about."""
    kept: dict[int, set[str]] = {}
    for ref, seq in connection.execute(f"SELECT ref, seq FROM {TRAIL}"):
        kept.setdefault(int(seq), set()).add(str(ref))
    faults = []
    for seq, payload in connection.execute("SELECT seq, payload FROM ledger ORDER BY seq"):
        about = json.loads(payload).get("about")
        if about is not None and set(about) != kept.get(int(seq), set()):
            faults.append(f"ledger line {seq} is about {about}, its trail is {sorted(kept.get(int(seq), set()))}")
    last = connection.execute("SELECT coalesce(max(seq), 0) FROM ledger").fetchone()[0]
    return faults + [f"a trail names line {seq}, which is not there" for seq in sorted(kept) if seq > last]


def _papers_missing(connection: sqlite3.Connection, folder: Path) -> list[str]:
    faults = []
    for key, result in connection.execute(f"SELECT id, result FROM {JOBS} WHERE state = 'done'"):
        place = folder / str(result)
        stored = place.read_bytes() if place.is_file() else b""
        if not stored.startswith(b"%PDF-") or not stored.rstrip().endswith(b"%%EOF"):
            faults.append(f"job {key} is done, but {result} is no whole paper")
    return faults


def unfinished_jobs(folder: Path) -> list[int]:
    """Jobs that wait, are being done, or failed."""
    with looked_at(folder) as connection:
        return [int(row[0]) for row in connection.execute(f"SELECT id FROM {JOBS} WHERE state <> 'done'")]

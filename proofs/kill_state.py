"""What a kill left behind, looked at without isohume's own code: plain SQL and the bytes of the files."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from isohume.bench.record.tables import DATABASE

HALF_RECORDS = (
    ("record without its ledger line", """SELECT id FROM record WHERE NOT EXISTS
        (SELECT 1 FROM ledger WHERE ledger.seq = record.seq AND kind = 'record' AND ref = record.id)"""),
    ("ledger line without its record", """SELECT ref FROM ledger WHERE kind = 'record' AND NOT EXISTS
        (SELECT 1 FROM record WHERE record.seq = ledger.seq AND record.id = ledger.ref)"""),
    ("two records of the same inputs", "SELECT min(id) FROM record GROUP BY inputs_digest HAVING count(*) > 1"),
)  # fmt: skip


def has_ledger(data: Path) -> bool:
    """Whether the store has been made."""
    if not (data / DATABASE).exists():
        return False
    return bool(_asked(data, "SELECT name FROM sqlite_master WHERE name = 'ledger'"))


def records_of(data: Path, lot: str) -> list[str]:
    """The ids of a lot's records, by what their bodies say."""
    sql = "SELECT id FROM record WHERE json_extract(CAST(body AS TEXT), '$.lot.id') = ?"
    return _asked(data, sql, lot) if has_ledger(data) else []


def halves(data: Path) -> list[str]:
    """Half records: in the tables, and certificates that are cut short or belong to no record."""
    found = []
    known: set[str] = set()
    if has_ledger(data):
        for what, sql in HALF_RECORDS:
            found += [f"{what}: {name}" for name in _asked(data, sql)]
        known = set(_asked(data, "SELECT id FROM record"))
    for path in sorted(data.glob("*.pdf")) if data.exists() else []:
        stored = path.read_bytes()
        if not stored.startswith(b"%PDF-") or not stored.rstrip().endswith(b"%%EOF"):
            found.append(f"truncated certificate: {path.name}")
        if path.stem not in known:
            found.append(f"certificate without a record: {path.name}")
    return found


def _asked(data: Path, sql: str, *values: str) -> list[str]:
    # a copy is asked, so that `isohume verify` is the first to open what the kill left behind
    with tempfile.TemporaryDirectory(prefix="isohume-looked-at-") as place:
        copy = Path(place) / DATABASE
        shutil.copyfile(data / DATABASE, copy)
        log = data / f"{DATABASE}-wal"
        if log.exists():
            shutil.copyfile(log, f"{copy}-wal")
        with closing(sqlite3.connect(copy)) as connection:
            return [str(row[0]) for row in connection.execute(sql, values)]

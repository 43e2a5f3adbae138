"""A store to tamper with, as real lots leave it, and exact copies of its rows to compare with."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from isohume.bench.record.certification import certify
from isohume.bench.record.store import open_store
from isohume.bench.record.tables import (
    DATABASE,
    FILE_COLUMNS,
    LEDGER_COLUMNS,
    OBJECTS,
    RECORD_COLUMNS,
    SIGNATURE_COLUMNS,
)
from proofs.kill_inputs import write_inputs

COLUMNS = {
    "ledger": LEDGER_COLUMNS.split(", "),
    "record": RECORD_COLUMNS.split(", "),
    "signature": SIGNATURE_COLUMNS.split(", "),
    "file": FILE_COLUMNS.split(", "),
}
GUARDS = [name for name, sql in OBJECTS.items() if sql.startswith("CREATE TRIGGER")]
Rows = dict[str, list[tuple[object, ...]]]


def make_store(folder: Path, lots: int) -> Path:
    """Certify lots one after the other, with events between them; each record is signed twice, its input file kept."""
    data = folder / "sound"
    for number in range(lots):
        lot = f"TAMPER-{number:03d}"
        inputs = write_inputs(folder / lot, lot)
        record = certify(inputs, data, datetime.now(UTC)).record["id"]
        with open_store(data) as store, store.transaction() as transaction:
            transaction.append_many(
                ("reading", f"{lot}-{cup}", b'{"a_w":"0.6315","cup":%d}' % cup) for cup in range(12)
            )
            transaction.keep_file(inputs.name, inputs.read_bytes())
            for person, meaning in (("mara", "reviewed"), ("otto", "approved")):
                transaction.sign(
                    record,
                    person=person,
                    printed_name=f"{person.capitalize()} Invented",
                    role="reviewer",
                    meaning=meaning,
                    act=f"{lot}-{meaning}",
                    of=1,
                    statement="",
                )
    return data


def rows_of(folder: Path) -> Rows:
    """Every cell of the tables with its type, and the SQL of tables and guards; from a copy, if it can be read."""
    with closing(sqlite3.connect(f"file:{folder / DATABASE}?mode=ro", uri=True)) as connection:
        connection.text_factory = bytes
        found: Rows = {
            table: connection.execute(
                f"SELECT {', '.join(f'{c}, typeof({c})' for c in columns)} FROM {table} ORDER BY seq"
            ).fetchall()
            for table, columns in COLUMNS.items()
        }
        found["schema"] = connection.execute("SELECT name, sql FROM sqlite_master ORDER BY name").fetchall()
        return found


def copied(sound: Path, place: Path) -> Path:
    """A fresh copy to tamper with."""
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(sound, place)
    return place


def behind(folder: Path, *statements: tuple[str, tuple[object, ...]], restore: bool = True) -> None:
    """Statements with the guards dropped, and put back word for word."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        for name in GUARDS:
            connection.execute(f"DROP TRIGGER {name}")
        for sql, values in statements:
            connection.execute(sql, values)
        for name in GUARDS if restore else ():
            connection.execute(OBJECTS[name])
        connection.commit()


def with_its_log(sound: Path, place: Path) -> Path:
    """A copy as a kill leaves it: the last lines are in SQLite's log, not yet in the database file."""
    working = copied(sound, place.with_name("working"))
    with open_store(working) as store:
        with store.transaction() as transaction:
            transaction.append_many(("reading", f"LOG-{cup}", b'{"a_w":"0.6315","cup":%d}' % cup) for cup in range(12))
        return copied(working, place)

"""A small store with lines and records, and a way to change it as somebody with a database shell would."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from isohume.bench.record.signature import Signature
from isohume.bench.record.store import open_store
from isohume.bench.record.tables import DATABASE
from isohume.bench.record.transaction import Transaction

Shell = Callable[[Path, str], None]


def content(record_id: str, issued_at: str) -> dict[str, Any]:
    """A record's content with text beyond ASCII."""
    return {"id": record_id, "issued_at": issued_at, "decision": {"verdict": "pass"}, "note": "25.0 °C, ß"}


@pytest.fixture
def filled(tmp_path: Path) -> Path:
    """Thirteen lines: three rounds of three events and a record, and one event more. Records at lines 4, 8, 12."""
    folder = tmp_path / "data"
    with open_store(folder) as store:
        for at in range(3):
            with store.transaction() as transaction:
                for portion in "ABC":
                    transaction.append("reading", f"SB-{at}-{portion}", b'{"a_w":"0.6315"}')
                transaction.freeze(content, f"Los «{at}»", f"{at:064x}")
        store.append("check", "OW-1", b"{}")
    return folder


def sign(transaction: Transaction, record: str, person: str, meaning: str, of: int = 1) -> Signature:
    """A signature of an invented person."""
    return transaction.sign(
        record,
        person=person,
        printed_name=f"{person.capitalize()} Ågren",
        role="reviewer",
        meaning=meaning,
        act=f"act-{person}-{meaning}",
        of=of,
        statement=f"The record was {meaning}.",
    )


@pytest.fixture
def signed(filled: Path) -> Path:
    """The same, with three signatures (lines 14 to 16), a file (17), an event (18) and another file (19)."""
    with open_store(filled) as store, store.transaction() as transaction:
        sign(transaction, "R000001", "mara", "reviewed", of=2)
        sign(transaction, "R000001", "otto", "approved")
        sign(transaction, "R000002", "mara", "reviewed", of=2)
        transaction.keep_file("OW-1 «Tag».csv", b"a_w;0,6315\r\n")
        transaction.append("check", "OW-1", b"{}")
        transaction.keep_file("other.csv", bytes(range(256)))
    return filled


@pytest.fixture
def shell() -> Shell:
    """Run SQL on a database with the sqlite3 shell where there is one, else with Python's own library, unguarded."""

    def run(folder: Path, sql: str) -> None:
        program = shutil.which("sqlite3")
        if program is not None:
            command = [program, "-batch", "-bail", str(folder / DATABASE), sql]
            subprocess.run(command, check=True, capture_output=True, text=True)
            return
        with closing(sqlite3.connect(folder / DATABASE)) as connection:
            connection.executescript(sql)

    return run

"""Files: kept once under their digest, appended only, and handed out only as they were kept."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import pytest

from isohume.bench.record.store import open_store
from isohume.bench.record.tables import DATABASE, OBJECTS
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError, IntegrityError

Shell = Callable[[Path, str], None]
FIRST = sha256(b"a_w;0,6315\r\n").hexdigest()


def test_a_file_is_kept_with_its_line_and_found_by_its_digest(tmp_path: Path) -> None:
    # SHA-256 of "abc": FIPS 180-4, example in its companion document
    abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    with open_store(tmp_path / "data") as store:
        with store.transaction() as transaction:
            assert transaction.keep_file("Lauf «1».csv", b"abc") == abc
        line = next(store.events("file"))
        assert (line.seq, line.ref) == (1, abc)
        assert json.loads(line.payload) == {"name": "Lauf «1».csv", "sha256": abc, "bytes": 3}
        assert store.file(abc) == b"abc"
        assert store.file("0" * 64) is None


def test_the_same_content_is_kept_once_under_its_first_name(tmp_path: Path) -> None:
    with open_store(tmp_path / "data") as store:
        with store.transaction() as transaction:
            kept = [transaction.keep_file(name, b"one") for name in ("a.csv", "b.csv")]
        with store.transaction() as transaction:
            kept.append(transaction.keep_file("c.csv", b"one"))
            empty = transaction.keep_file("empty.csv", b"")
        assert len(set(kept)) == 1
        assert store.file(empty) == b""
        assert [json.loads(line.payload)["name"] for line in store.events("file")] == ["a.csv", "empty.csv"]
    found = verify(tmp_path / "data")
    assert (found.verified, found.entries, found.files) == (True, 2, 2)


@pytest.mark.parametrize("name", ["", "a\0.csv"])
def test_a_file_has_a_name(tmp_path: Path, name: str) -> None:
    with open_store(tmp_path / "data") as store:
        with pytest.raises(InputError), store.transaction() as transaction:
            transaction.keep_file(name, b"x")
        assert list(store.events()) == []


def test_a_file_changed_in_the_database_is_not_handed_out(signed: Path, shell: Shell) -> None:
    guard = OBJECTS["file_refuses_update"]
    shell(signed, f"DROP TRIGGER file_refuses_update; UPDATE file SET body = x'00' WHERE seq = 17; {guard};")
    with open_store(signed) as store, pytest.raises(IntegrityError, match="is not what was kept"):
        store.file(FIRST)


REFUSED = [
    "UPDATE file SET body = x'00'",
    "UPDATE OR REPLACE file SET name = 'x' WHERE seq = 17",
    "DELETE FROM file",
    "DELETE FROM file WHERE seq = 19",
    "INSERT OR REPLACE INTO file SELECT seq, sha256, name, x'00' FROM file WHERE seq = 17",
    f"REPLACE INTO file VALUES (20, '{FIRST}', 'x', x'00')",
    f"INSERT INTO file VALUES (20, '{FIRST}', 'x', x'00') ON CONFLICT (sha256) DO UPDATE SET body = x'00'",
    f"INSERT OR IGNORE INTO file VALUES (20, '{FIRST}', 'x', x'00')",
    "INSERT INTO file VALUES (21, 'other', 'x', x'00')",
    "INSERT INTO file VALUES (18, 'other', 'x', x'00')",
    "INSERT INTO ledger SELECT 20, at, 'file', 'other', x'', digest, 'd' FROM ledger WHERE seq = 19",
    f"INSERT INTO ledger SELECT 20, at, 'file', '{FIRST}', x'', digest, 'd' FROM ledger WHERE seq = 19",
]


@pytest.mark.parametrize("sql", REFUSED)
def test_the_database_refuses(signed: Path, sql: str) -> None:
    with closing(sqlite3.connect(signed / DATABASE)) as connection:
        before = connection.execute("SELECT * FROM file").fetchall()
        with pytest.raises(sqlite3.IntegrityError, match=r"a file|a ledger line"):
            connection.execute(sql)
        connection.commit()
        assert connection.execute("SELECT * FROM file").fetchall() == before
    assert verify(signed).verified


def test_a_file_without_its_line_cannot_be_committed(signed: Path) -> None:
    with closing(sqlite3.connect(signed / DATABASE)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("INSERT INTO file VALUES (20, 'other', 'x', x'00')")
        with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
            connection.commit()
    assert verify(signed).verified

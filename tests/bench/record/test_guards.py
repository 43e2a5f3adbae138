"""The database itself refuses to change evidence, whatever the statement and whoever's connection."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from isohume.bench.record.line import line_digest
from isohume.bench.record.tables import ALL_LINES, ALL_RECORDS, DATABASE, GENESIS
from isohume.bench.record.verification import verify

LAST = "(SELECT digest FROM ledger WHERE seq = 13)"
REFUSED = [
    "UPDATE ledger SET payload = x'00' WHERE seq = 3",
    "UPDATE ledger SET at = at",
    "UPDATE OR REPLACE ledger SET seq = 4 WHERE seq = 3",
    "UPDATE OR IGNORE ledger SET kind = 'x'",
    "DELETE FROM ledger",
    "DELETE FROM ledger WHERE seq = 13",
    "UPDATE record SET lot = 'x'",
    "UPDATE OR REPLACE record SET id = 'R000002' WHERE id = 'R000001'",
    "DELETE FROM record",
    "DELETE FROM record WHERE id = 'R000003'",
    "INSERT OR REPLACE INTO ledger SELECT seq, at, kind, 'other', payload, previous, digest FROM ledger WHERE seq = 3",
    f"REPLACE INTO ledger VALUES (1, 'at', 'kind', 'ref', x'', '{GENESIS}', 'd')",
    "INSERT OR IGNORE INTO ledger VALUES (3, 'at', 'kind', 'ref', x'', 'p', 'd')",
    "INSERT INTO ledger SELECT * FROM ledger WHERE seq = 3 ON CONFLICT (seq) DO UPDATE SET ref = 'other'",
    "INSERT INTO ledger SELECT * FROM ledger WHERE seq = 3 ON CONFLICT DO NOTHING",
    "INSERT INTO ledger VALUES (14, 'at', 'kind', 'ref', x'', 'not the last digest', 'd')",
    f"INSERT INTO ledger VALUES (15, 'at', 'kind', 'ref', x'', {LAST}, 'd')",
    f"INSERT INTO ledger (at, kind, ref, payload, previous, digest) VALUES ('a', 'k', 'r', x'', {LAST}, 'd')",
    f"INSERT INTO ledger VALUES (14, 'at', 'record', 'R000004', x'', {LAST}, 'd')",
    f"INSERT INTO ledger VALUES (14, 'at', 'record', 'R000003', x'', {LAST}, 'd')",
    "INSERT OR REPLACE INTO record SELECT seq, id, lot, inputs_digest, digest, x'7b7d' FROM record WHERE seq = 4",
    "REPLACE INTO record (rowid, id, lot, inputs_digest, digest, body) VALUES (4, 'R9', 'l', 'i', 'd', x'')",
    "REPLACE INTO record VALUES (14, 'R000001', 'l', 'i', 'd', x'')",
    "INSERT INTO record VALUES (14, 'R000002', 'l', 'i', 'd', x'') ON CONFLICT (id) DO UPDATE SET lot = 'x'",
    "INSERT INTO record VALUES (15, 'R000004', 'l', 'i', 'd', x'')",
    "INSERT INTO record VALUES (13, 'R000004', 'l', 'i', 'd', x'')",
]


def everything(folder: Path) -> tuple[list[tuple[object, ...]], list[tuple[object, ...]]]:
    """All rows of both tables."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        return connection.execute(ALL_LINES).fetchall(), connection.execute(ALL_RECORDS).fetchall()


@pytest.mark.parametrize("sql", REFUSED)
def test_the_database_refuses(filled: Path, sql: str) -> None:
    before = everything(filled)
    # a connection as somebody else would open it: foreign keys and recursive triggers off
    with closing(sqlite3.connect(filled / DATABASE)) as connection:
        with pytest.raises(sqlite3.IntegrityError, match=r"a ledger line|a record"):
            connection.execute(sql)
        connection.commit()
    assert everything(filled) == before
    assert verify(filled).verified


def test_a_record_without_its_line_cannot_be_committed(filled: Path) -> None:
    with closing(sqlite3.connect(filled / DATABASE)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("INSERT INTO record VALUES (14, 'R000004', 'l', 'i', 'd', x'7b7d')")
        with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
            connection.commit()
    assert verify(filled).verified


def test_the_line_that_continues_the_chain_is_let_in(filled: Path) -> None:
    """So that the refusals above are refusals of what is wrong with those lines, not of every line."""
    lines, _ = everything(filled)
    last = str(lines[-1][-1])
    digest = line_digest(14, "at", "kind", "ref", b"", last)
    with closing(sqlite3.connect(filled / DATABASE)) as connection:
        connection.execute("INSERT INTO ledger VALUES (14, 'at', 'kind', 'ref', x'', ?, ?)", (last, digest))
        connection.commit()
    found = verify(filled)
    assert (found.entries, found.verified) == (14, True)


def test_columns_keep_their_types(filled: Path) -> None:
    lines, _ = everything(filled)
    with closing(sqlite3.connect(filled / DATABASE)) as connection:
        for values in ("14, 'at', 'kind', 'ref', 'text', ?, 'd'", "14, 'at', 'kind', x'00', x'', ?, 'd'"):
            with pytest.raises(sqlite3.IntegrityError, match="cannot store"):
                connection.execute(f"INSERT INTO ledger VALUES ({values})", (lines[-1][-1],))

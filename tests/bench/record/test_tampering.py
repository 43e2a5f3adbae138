"""Whatever is changed behind the store's back, `verify` says no and names it."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from isohume.bench.record.head import HEAD_FILE
from isohume.bench.record.line import line_digest
from isohume.bench.record.store import open_store
from isohume.bench.record.tables import DATABASE, OBJECTS
from isohume.bench.record.verification import verify

Shell = Callable[[Path, str], None]
GUARDS = [name for name, sql in OBJECTS.items() if sql.startswith("CREATE TRIGGER")]
DROP = " ".join(f"DROP TRIGGER {name};" for name in GUARDS)
RESTORE = "".join(f" {OBJECTS[name]};" for name in GUARDS)


def behind(sql: str) -> str:
    """Drop the guards, do it, and put the guards back."""
    return f"{DROP} {sql};{RESTORE}"


def first_bad(folder: Path) -> tuple[str, str]:
    """What `verify` names, having said no."""
    found = verify(folder)
    assert not found.verified
    assert found.first_bad is not None
    assert found.first_bad.reason
    return found.first_bad.kind, found.first_bad.id


def one_byte_other(folder: Path, table: str, column: str, seq: int, at: float) -> str:
    """SQL that changes one byte of one cell, `at` from 0 (first) to 1 (last)."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        query = f"SELECT CAST({column} AS BLOB), typeof({column}) FROM {table} WHERE seq = {seq}"
        stored, kind = connection.execute(query).fetchone()
    changed = bytearray(stored)
    place = round(at * (len(changed) - 1))
    changed[place] ^= 4 if changed[place] < 128 else 2  # another character, in text beyond ASCII too
    value = f"CAST(x'{changed.hex()}' AS {kind})"
    return f"UPDATE {table} SET {column} = {value} WHERE seq = {seq}"


@pytest.mark.parametrize("at", [0.0, 0.4, 1.0])
@pytest.mark.parametrize("seq", [1, 4, 7, 13])
@pytest.mark.parametrize("column", ["at", "kind", "ref", "payload", "previous", "digest"])
def test_one_byte_of_a_line(filled: Path, shell: Shell, column: str, seq: int, at: float) -> None:
    shell(filled, behind(one_byte_other(filled, "ledger", column, seq, at)))
    assert first_bad(filled) == ("ledger", str(seq))


@pytest.mark.parametrize("at", [0.0, 0.4, 1.0])
@pytest.mark.parametrize(("seq", "record"), [(4, "R000001"), (8, "R000002"), (12, "R000003")])
@pytest.mark.parametrize("column", ["id", "lot", "inputs_digest", "digest", "body"])
def test_one_byte_of_a_record(filled: Path, shell: Shell, column: str, seq: int, record: str, at: float) -> None:
    shell(filled, behind(one_byte_other(filled, "record", column, seq, at)))
    assert first_bad(filled) == ("record", record)


def test_the_row_is_named_when_the_guards_stay_away(filled: Path, shell: Shell) -> None:
    shell(filled, f"{DROP} UPDATE ledger SET ref = 'SB-1-Z' WHERE seq = 6")
    assert first_bad(filled) == ("ledger", "6")


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("DELETE FROM ledger WHERE seq = 1", ("ledger", "1")),
        ("DELETE FROM ledger WHERE seq = 6", ("ledger", "6")),
        ("DELETE FROM ledger WHERE seq = 8", ("ledger", "8")),
        ("DELETE FROM ledger WHERE seq = 13", ("ledger", "13")),
        ("DELETE FROM ledger WHERE seq >= 9", ("ledger", "9")),
        ("DELETE FROM ledger", ("ledger", "1")),
        ("DELETE FROM record WHERE seq = 4", ("record", "R000001")),
        ("DELETE FROM record WHERE seq = 12", ("record", "R000003")),
        ("DELETE FROM record", ("record", "R000001")),
        ("DELETE FROM ledger WHERE seq >= 12; DELETE FROM record WHERE seq = 12", ("ledger", "12")),
        # numbering set back as well: only the head file knows
        ("DELETE FROM ledger WHERE seq = 13; UPDATE sqlite_sequence SET seq = 12", ("ledger", "13")),
        ("DELETE FROM ledger; DELETE FROM record; DELETE FROM sqlite_sequence", ("ledger", "1")),
    ],
)
def test_rows_deleted(filled: Path, shell: Shell, sql: str, named: tuple[str, str]) -> None:
    shell(filled, behind(sql))
    assert first_bad(filled) == named


def test_the_tail_is_missed_by_the_numbering_when_the_head_file_is_set_back(filled: Path, shell: Shell) -> None:
    with open_store(filled) as store:
        twelfth = list(store.events())[11]
    (filled / HEAD_FILE).write_text(f"{12:015d} {twelfth.digest}\n", encoding="ascii")
    shell(filled, behind("DELETE FROM ledger WHERE seq = 13"))
    assert first_bad(filled) == ("ledger", "13")


SWAP_LINES = """UPDATE ledger SET seq = -1 WHERE seq = {0}; UPDATE ledger SET seq = {0} WHERE seq = {1};
UPDATE ledger SET seq = {1} WHERE seq = -1"""
SWAP_CELLS = """CREATE TEMP TABLE kept AS SELECT * FROM {2} WHERE seq IN ({0}, {1});
UPDATE {2} SET {3} = (SELECT {3} FROM kept WHERE seq = {1}) WHERE seq = {0};
UPDATE {2} SET {3} = (SELECT {3} FROM kept WHERE seq = {0}) WHERE seq = {1}"""


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        (SWAP_LINES.format(2, 3), ("ledger", "2")),
        (SWAP_LINES.format(1, 13), ("ledger", "1")),
        (SWAP_LINES.format(5, 11), ("ledger", "5")),
        (SWAP_CELLS.format(2, 3, "ledger", "ref"), ("ledger", "2")),
        (SWAP_CELLS.format(4, 12, "record", "body"), ("record", "R000001")),
        (SWAP_CELLS.format(8, 12, "record", "lot"), ("record", "R000002")),
        (SWAP_CELLS.format(8, 12, "record", "digest"), ("record", "R000002")),
        (
            "UPDATE record SET seq = -1 WHERE seq = 4; UPDATE record SET seq = 4 WHERE seq = 8; "
            "UPDATE record SET seq = 8 WHERE seq = -1",
            ("record", "R000001"),
        ),
        (
            "UPDATE record SET id = 'x' WHERE seq = 4; UPDATE record SET id = 'R000001' WHERE seq = 8; "
            "UPDATE record SET id = 'R000002' WHERE seq = 4",
            ("record", "R000001"),
        ),
    ],
)
def test_two_swapped(filled: Path, shell: Shell, sql: str, named: tuple[str, str]) -> None:
    shell(filled, behind(sql))
    assert first_bad(filled) == named


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("UPDATE record SET id = 'R000009' WHERE seq = 8", ("record", "R000002")),
        ("UPDATE record SET seq = 9 WHERE seq = 8", ("record", "R000002")),
        ("UPDATE record SET seq = 2 WHERE seq = 8", ("record", "R000002")),
        ("UPDATE record SET seq = 99 WHERE seq = 12", ("record", "R000003")),
        ("INSERT INTO record SELECT 13, 'R000004', lot, inputs_digest, digest, body FROM record WHERE seq = 4",
         ("record", "R000004")),
        ("INSERT INTO record SELECT 14, 'R000004', lot, inputs_digest, digest, body FROM record WHERE seq = 4",
         ("record", "R000004")),
        ("INSERT INTO ledger VALUES (14, 'at', 'note', 'x', x'', 'nothing', 'd')", ("ledger", "14")),
        ("INSERT INTO ledger SELECT 14, at, kind, ref, payload, digest, 'd' FROM ledger WHERE seq = 13",
         ("ledger", "14")),
        ("INSERT INTO ledger SELECT 20, at, kind, ref, payload, digest, digest FROM ledger WHERE seq = 13",
         ("ledger", "14")),
        ("INSERT INTO ledger SELECT 0, at, kind, ref, payload, previous, digest FROM ledger WHERE seq = 1",
         ("ledger", "1")),
        ("UPDATE sqlite_sequence SET seq = 12", ("numbering", "ledger")),
        ("UPDATE sqlite_sequence SET seq = 14", ("ledger", "14")),
        ("DELETE FROM sqlite_sequence", ("numbering", "ledger")),
    ],
)  # fmt: skip
def test_moved_added_and_renumbered(filled: Path, shell: Shell, sql: str, named: tuple[str, str]) -> None:
    shell(filled, behind(sql))
    assert first_bad(filled) == named


def test_a_line_with_a_right_digest_but_another_predecessor(filled: Path, shell: Shell) -> None:
    digest = line_digest(14, "at", "note", "x", b"", "f" * 64)
    shell(filled, behind(f"INSERT INTO ledger VALUES (14, 'at', 'note', 'x', x'', '{'f' * 64}', '{digest}')"))
    assert first_bad(filled) == ("ledger", "14")


def test_a_rewritten_end_disagrees_with_the_head_file(filled: Path, shell: Shell) -> None:
    """The last line forged with a right digest: the chain agrees with itself, the head file does not."""
    with open_store(filled) as store:
        last = list(store.events())[-1]
    digest = line_digest(13, last.at, last.kind, "OW-2", last.payload, last.previous)
    shell(filled, behind(f"UPDATE ledger SET ref = 'OW-2', digest = '{digest}' WHERE seq = 13"))
    assert first_bad(filled) == ("head", HEAD_FILE)


@pytest.mark.parametrize("name", GUARDS)
def test_a_guard_is_missing_or_altered(filled: Path, shell: Shell, name: str) -> None:
    shell(filled, f"DROP TRIGGER {name}")
    assert first_bad(filled) == ("trigger", name)
    shell(filled, OBJECTS[name].replace("RAISE(ABORT, ", "RAISE(FAIL, "))
    assert first_bad(filled) == ("trigger", name)


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("CREATE TRIGGER quiet BEFORE INSERT ON ledger BEGIN SELECT RAISE(IGNORE); END", ("trigger", "quiet")),
        ("DROP INDEX record_by_lot", ("index", "record_by_lot")),
        ("ALTER TABLE ledger ADD COLUMN remark TEXT", ("table", "ledger")),
        ("ALTER TABLE record RENAME TO records", ("table", "record")),
        ("DROP TABLE record", ("table", "record")),
        ("DROP TABLE record; DROP TABLE ledger", ("table", "ledger")),
    ],
)
def test_tables_and_indexes_are_as_shipped(filled: Path, shell: Shell, sql: str, named: tuple[str, str]) -> None:
    shell(filled, sql)
    assert first_bad(filled) == named


def test_text_that_is_no_text_any_more(filled: Path, shell: Shell) -> None:
    shell(filled, behind("UPDATE ledger SET ref = CAST(x'ff' AS TEXT) WHERE seq = 6"))
    assert first_bad(filled) == ("ledger", "6")


def test_a_record_s_text_that_is_no_text_any_more(filled: Path, shell: Shell) -> None:
    shell(filled, behind("UPDATE record SET lot = CAST(x'ff' AS TEXT) WHERE seq = 8"))
    assert first_bad(filled) == ("record", "R000002")


def test_files_lost(filled: Path) -> None:
    copy = filled.with_name("copy")
    shutil.copytree(filled, copy)
    (filled / HEAD_FILE).unlink()
    assert first_bad(filled) == ("head", HEAD_FILE)
    (copy / DATABASE).unlink()
    assert first_bad(copy) == ("database", DATABASE)


def test_an_index_that_hides_a_record(filled: Path) -> None:
    """Indexes find records by their inputs; one that lies would let the same inputs be frozen twice."""
    with closing(sqlite3.connect(filled / DATABASE)) as connection:
        query = "SELECT rootpage FROM sqlite_master WHERE name = 'record_by_inputs'"
        page = connection.execute(query).fetchone()[0]
    stored = bytearray((filled / DATABASE).read_bytes())
    place = stored.index(f"{1:064x}".encode(), (page - 1) * 4096)
    assert place < page * 4096
    stored[place + 10] ^= 4
    (filled / DATABASE).write_bytes(stored)
    assert first_bad(filled) == ("database", "record")


@pytest.mark.parametrize("part", [b"SB-1-B", b"Los \xc2\xab1", b'"verdict":"pass"'])
def test_one_byte_in_the_file(filled: Path, part: bytes) -> None:
    """Not through SQL at all: a byte of the file, as a disk or an editor changes it."""
    stored = bytearray((filled / DATABASE).read_bytes())
    stored[stored.index(part) + 1] ^= 0x20
    (filled / DATABASE).write_bytes(stored)
    assert first_bad(filled)[0] in ("ledger", "record")


def test_a_page_of_noise(filled: Path) -> None:
    stored = bytearray((filled / DATABASE).read_bytes())
    at = stored.index(b"SB-1-B") // 4096 * 4096
    stored[at : at + 4096] = bytes(range(256)) * 16
    (filled / DATABASE).write_bytes(stored)
    assert first_bad(filled) == ("ledger", "1")


def test_a_file_cut_short(filled: Path) -> None:
    stored = (filled / DATABASE).read_bytes()
    (filled / DATABASE).write_bytes(stored[: len(stored) // 2])
    assert first_bad(filled)[0] in ("database", "ledger", "record")

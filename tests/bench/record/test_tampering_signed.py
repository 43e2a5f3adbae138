"""Whatever is changed of signatures and files behind the store's back, `verify` says no and names it."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from isohume.bench.record.canonical_form import canonical
from isohume.bench.record.signature import signature_of
from isohume.bench.record.tables import DATABASE, FILE_COLUMNS, LEDGER_COLUMNS, OBJECTS, SIGNATURE_COLUMNS
from isohume.bench.record.verification import verify

Shell = Callable[[Path, str], None]
GUARDS = [name for name, sql in OBJECTS.items() if sql.startswith("CREATE TRIGGER")]
DROP = " ".join(f"DROP TRIGGER {name};" for name in GUARDS)
RESTORE = "".join(f" {OBJECTS[name]};" for name in GUARDS)
COLUMNS = {
    table: columns.split(", ")[1:]
    for table, columns in (("signature", SIGNATURE_COLUMNS), ("file", FILE_COLUMNS), ("ledger", LEDGER_COLUMNS))
}
ROWS = [
    ("signature", 14),
    ("signature", 15),
    ("signature", 16),
    ("file", 17),
    ("file", 19),
    *(("ledger", n) for n in range(14, 20)),
]


def behind(sql: str) -> str:
    """Drop the guards, do it, and put the guards back."""
    return f"{DROP} {sql};{RESTORE}"


def files_of(folder: Path) -> tuple[str, str]:
    """The digests under which the two files are kept, lines 17 and 19."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        first, second = (row[0] for row in connection.execute("SELECT sha256 FROM file ORDER BY seq"))
    return first, second


def first_bad(folder: Path) -> tuple[str, str]:
    """What `verify` names, having said no."""
    found = verify(folder)
    assert not found.verified
    assert found.first_bad is not None
    assert found.first_bad.reason
    return found.first_bad.kind, found.first_bad.id


@settings(
    derandomize=True, max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.sampled_from(ROWS), st.integers(0, 6), st.floats(0, 1), st.integers(1, 255))
def test_any_byte_of_any_cell(signed: Path, row: tuple[str, int], column: int, at: float, change: int) -> None:
    table, seq = row
    names = COLUMNS[table]
    name = names[column % len(names)]
    first, second = files_of(signed)
    named = {"ledger": str(seq), "signature": str(seq), "file": first if seq == 17 else second}[table]
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / "copy"
        shutil.copytree(signed, copy)
        with closing(sqlite3.connect(copy / DATABASE)) as connection:
            query = f"SELECT CAST({name} AS BLOB), typeof({name}) FROM {table} WHERE seq = {seq}"
            stored, kind = connection.execute(query).fetchone()
            changed = bytearray(stored)
            changed[round(at * (len(changed) - 1))] ^= change
            for guard in GUARDS:
                connection.execute(f"DROP TRIGGER {guard}")
            try:
                connection.execute(f"UPDATE {table} SET {name} = CAST(x'{changed.hex()}' AS {kind}) WHERE seq = {seq}")
            except sqlite3.IntegrityError:  # another row has that already: the database refuses, nothing was changed
                assume(False)
            for guard in GUARDS:
                connection.execute(OBJECTS[guard])
            connection.commit()
        assert first_bad(copy) == (table, named)


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("UPDATE signature SET record = 'R000003' WHERE seq = 14", "14"),
        ("UPDATE signature SET seq = 18 WHERE seq = 16", "16"),
        ("UPDATE signature SET seq = 3 WHERE seq = 15", "3"),
        ("UPDATE signature SET seq = -1 WHERE seq = 14; UPDATE signature SET seq = 14 WHERE seq = 15; "
         "UPDATE signature SET seq = 15 WHERE seq = -1", "14"),
        ("UPDATE signature SET meaning = 'approved' WHERE seq = 16", "16"),
        ("UPDATE signature SET body = (SELECT body FROM signature WHERE seq = 14) WHERE seq = 16", "16"),
        ("DELETE FROM signature WHERE seq = 15", "15"),
        ("DELETE FROM signature", "14"),
        ("INSERT INTO signature SELECT 18, 'R000003', person, meaning, body FROM signature WHERE seq = 14", "18"),
        ("INSERT INTO signature SELECT 20, 'R000003', person, meaning, body FROM signature WHERE seq = 14", "20"),
        ("INSERT INTO signature SELECT 99, 'R000003', person, meaning, body FROM signature WHERE seq = 14", "99"),
        ("UPDATE signature SET person = CAST(x'ff' AS TEXT) WHERE seq = 15", "15"),
        ("UPDATE signature SET body = zeroblob(0) WHERE seq = 15", "15"),
    ],
)  # fmt: skip
def test_signatures_moved_edited_deleted_and_added(signed: Path, shell: Shell, sql: str, named: str) -> None:
    shell(signed, behind(sql))
    assert first_bad(signed) == ("signature", named)


@pytest.mark.parametrize("column", ["record", "person", "meaning", "printed_name", "role", "at", "digest"])
def test_a_body_rewritten_in_good_form(signed: Path, shell: Shell, column: str) -> None:
    """Row and body changed together, so that they agree: the ledger line still says what was signed."""
    with closing(sqlite3.connect(signed / DATABASE)) as connection:
        body = connection.execute("SELECT body FROM signature WHERE seq = 15").fetchone()[0]
    said = signature_of(15, body)._asdict()
    content = {name: value for name, value in said.items() if name not in ("seq", "body")} | {column: "nina"}
    also = f", {column} = 'nina'" if column in ("person", "meaning", "record") else ""
    shell(signed, behind(f"UPDATE signature SET body = x'{canonical(content).hex()}'{also} WHERE seq = 15"))
    assert first_bad(signed) == ("signature", "15")


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("UPDATE file SET name = 'other' WHERE seq = 17", 0),
        ("UPDATE file SET body = x'00' WHERE seq = 19", 1),
        ("UPDATE file SET body = zeroblob(0) WHERE seq = 17", 0),
        ("UPDATE file SET seq = 18 WHERE seq = 19", 1),
        ("UPDATE file SET seq = -1 WHERE seq = 17; UPDATE file SET seq = 17 WHERE seq = 19; "
         "UPDATE file SET seq = 19 WHERE seq = -1", 0),
        ("UPDATE file SET sha256 = 'x' WHERE seq = 17", 0),
        ("DELETE FROM file WHERE seq = 17", 0),
        ("DELETE FROM file WHERE seq = 19", 1),
    ],
)  # fmt: skip
def test_files_edited_moved_and_deleted(signed: Path, shell: Shell, sql: str, named: int) -> None:
    expected = files_of(signed)[named]
    shell(signed, behind(sql))
    assert first_bad(signed) == ("file", expected)


@pytest.mark.parametrize("seq", [18, 20])
def test_a_file_added(signed: Path, shell: Shell, seq: int) -> None:
    shell(signed, behind(f"INSERT INTO file VALUES ({seq}, 'added', 'added.csv', x'00')"))
    assert first_bad(signed) == ("file", "added")


def test_a_record_under_a_signature_is_named_as_the_record(signed: Path, shell: Shell) -> None:
    shell(signed, behind("UPDATE record SET body = x'7b7d' WHERE seq = 4"))
    assert first_bad(signed) == ("record", "R000001")


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("CREATE TRIGGER quiet BEFORE INSERT ON signature BEGIN SELECT RAISE(IGNORE); END", ("trigger", "quiet")),
        ("CREATE INDEX file_by_name ON file (name)", ("index", "file_by_name")),
        ("ALTER TABLE signature ADD COLUMN remark TEXT", ("table", "signature")),
        ("DROP TABLE file", ("table", "file")),
    ],
)
def test_the_tables_are_as_shipped(signed: Path, shell: Shell, sql: str, named: tuple[str, str]) -> None:
    shell(signed, sql)
    assert first_bad(signed) == named


@pytest.mark.parametrize("part", [b"Otto \xc3\x85gren", b"0,6315\r\n", b"OW-1 \xc2\xabTag"])
def test_one_byte_in_the_file_of_the_database(signed: Path, part: bytes) -> None:
    """Not through SQL at all: a byte of the file, as a disk or an editor changes it."""
    stored = bytearray((signed / DATABASE).read_bytes())
    stored[stored.rindex(part) + 1] ^= 0x20
    (signed / DATABASE).write_bytes(stored)
    assert first_bad(signed)[0] in ("ledger", "signature", "file")

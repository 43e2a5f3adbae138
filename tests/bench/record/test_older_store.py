"""A store made before signatures and files were kept: it verifies as it is, and opening it adds what came later."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from isohume.bench.record.canonical_form import canonical, digest
from isohume.bench.record.head import HEAD_FILE
from isohume.bench.record.line import line_digest
from isohume.bench.record.store import open_store
from isohume.bench.record.tables import (
    ADDED_OBJECTS,
    DATABASE,
    FIRST_OBJECTS,
    GENESIS,
    INSERT_LINE,
    INSERT_RECORD,
    OBJECTS,
    SHIPPED,
)
from isohume.bench.record.transaction import record_payload
from isohume.bench.record.verification import Verification, verify
from isohume.foundation.quantity.errors import IntegrityError

GIVEN = {"person": "mara", "printed_name": "Mara Ågren", "role": "reviewer", "act": "a", "of": 1, "statement": ""}


def made_before(folder: Path, kinds: tuple[str, ...] = ("check",)) -> Path:
    """A store of one record and some lines, with the first objects only, written without the store's own code."""
    folder.mkdir()
    previous = GENESIS
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        for sql in FIRST_OBJECTS.values():
            connection.execute(sql)
        body = canonical({"id": "R000001", "issued_at": "at"})
        connection.execute(INSERT_RECORD, (1, "R000001", "SB-1", "aa", digest(body), body))
        lines = [("record", "R000001", record_payload("R000001", "SB-1", "aa", digest(body)))]
        lines += [(kind, "R000001", b"{}") for kind in kinds]
        for seq, (kind, ref, payload) in enumerate(lines, 1):
            made = line_digest(seq, "at", kind, ref, payload, previous)
            connection.execute(INSERT_LINE, (seq, "at", kind, ref, payload, previous, made))
            previous = made
        connection.commit()
    (folder / HEAD_FILE).write_text(f"{len(lines):015d} {previous}\n", encoding="ascii")
    return folder


def objects(folder: Path) -> dict[str, str]:
    """What hangs on the evidence tables."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        return {name: sql for name, _, sql in connection.execute(SHIPPED)}


def test_it_verifies_and_nothing_is_written(tmp_path: Path) -> None:
    folder = made_before(tmp_path / "data")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert verify(folder) == Verification(2, 1, True, None)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_opening_adds_what_came_later_and_keeps_what_is_there(tmp_path: Path) -> None:
    folder = made_before(tmp_path / "data")
    with open_store(folder, create=False) as store:
        assert [line.seq for line in store.events()] == [1, 2]
        with store.transaction() as transaction:
            transaction.sign("R000001", meaning="reviewed", **GIVEN)  # type: ignore[arg-type]
            transaction.keep_file("a.csv", b"x")
        assert [signature.seq for signature in store.signatures_of("R000001")] == [3]
    assert objects(folder) == OBJECTS
    assert verify(folder) == Verification(4, 1, True, None, 1, 1)
    open_store(folder).close()


@pytest.mark.parametrize("name", FIRST_OBJECTS)
def test_one_that_is_not_as_it_was_shipped_then_is_refused_and_kept(tmp_path: Path, name: str) -> None:
    folder = made_before(tmp_path / "data")
    if name in ("ledger", "record"):
        change = f"ALTER TABLE {name} ADD COLUMN remark TEXT"
    else:
        change = f"DROP {'INDEX' if name.startswith('record_by') else 'TRIGGER'} {name}"
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.execute(change)
    with pytest.raises(IntegrityError, match=f"{name} is"):
        open_store(folder)
    assert set(objects(folder)).isdisjoint(ADDED_OBJECTS)
    found = verify(folder)
    assert found.first_bad is not None
    assert found.first_bad.id == name


@pytest.mark.parametrize("name", ADDED_OBJECTS)
def test_with_some_of_what_came_later_it_is_no_older_store(tmp_path: Path, name: str) -> None:
    folder = made_before(tmp_path / "data")
    open_store(folder).close()
    kind = "TABLE" if name in ("signature", "file") else "TRIGGER"
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.execute(f"DROP {kind} {name}")
    left = objects(folder)
    with pytest.raises(IntegrityError, match=f"the {kind.lower()} {name} is missing"):
        open_store(folder)
    assert objects(folder) == left
    found = verify(folder)
    assert found.first_bad is not None
    assert (found.first_bad.kind, found.first_bad.id) == (kind.lower(), name)


@pytest.mark.parametrize(("kind", "named"), [("signature", ("signature", "3")), ("file", ("file", "R000001"))])
def test_lines_that_speak_of_what_is_not_there_are_a_fault(tmp_path: Path, kind: str, named: tuple[str, str]) -> None:
    """All the later tables taken away, as if there had never been any: the ledger still speaks of their rows."""
    folder = made_before(tmp_path / "data", ("check", kind))
    with pytest.raises(IntegrityError, match="line 3 speaks of a signature or a file"):
        open_store(folder)
    assert objects(folder) == FIRST_OBJECTS
    found = verify(folder)
    assert found.first_bad is not None
    assert (found.first_bad.kind, found.first_bad.id) == named


def test_the_tables_dropped_with_their_rows_are_missed(signed: Path) -> None:
    with closing(sqlite3.connect(signed / DATABASE)) as connection:
        connection.executescript("DROP TRIGGER ledger_line_has_its_row; DROP TABLE signature; DROP TABLE file")
    found = verify(signed)
    assert found.first_bad is not None
    assert (found.first_bad.kind, found.first_bad.id) == ("signature", "14")
    with pytest.raises(IntegrityError, match="line 14 speaks of a signature or a file"):
        open_store(signed)

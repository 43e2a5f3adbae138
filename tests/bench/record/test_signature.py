"""Signatures: bound to the record as it was, appended only, and handed out only where they agree with the chain."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from isohume.bench.record.line import line_digest
from isohume.bench.record.signature import MEANINGS, SignatureRow, fault_of_signature, signature_body
from isohume.bench.record.store import open_store
from isohume.bench.record.tables import DATABASE, OBJECTS
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError, IntegrityError

Shell = Callable[[Path, str], None]
GIVEN: dict[str, Any] = {
    "person": "mara",
    "printed_name": "Mara Ågren",
    "role": "quality manager",
    "meaning": "released",
    "act": "7c1d",
    "of": 1,
    "statement": "I release this lot.",
}


def test_a_signature_holds_who_what_why_and_when(filled: Path) -> None:
    with open_store(filled, clock=lambda: "2026-11-24T16:00:00+00:00") as store:
        with store.transaction() as transaction:
            made = transaction.sign("R000002", **GIVEN)
        record = store.record("R000002")
        assert record is not None
        expected = {"record": "R000002", "digest": record.digest, "at": "2026-11-24T16:00:00+00:00", **GIVEN}
        assert json.loads(made.body) == expected
        assert made._asdict() == {**expected, "seq": 14, "body": made.body}
        line = next(store.events("signature"))
        assert (line.seq, line.ref, line.payload, line.at) == (14, "R000002", made.body, made.at)
        assert store.signatures_of("R000002") == [made]
        assert store.signatures_of("R000001") == []


def test_signatures_of_one_act_are_found_by_record_oldest_first(signed: Path) -> None:
    with open_store(signed) as store:
        first, second = store.signatures_of("R000001")
        (other,) = store.signatures_of("R000002")
    assert [(s.seq, s.person, s.meaning) for s in (first, second)] == [
        (14, "mara", "reviewed"),
        (15, "otto", "approved"),
    ]
    assert (first.act, first.of) == (other.act, other.of) == ("act-mara-reviewed", 2)
    assert first.digest != other.digest
    found = verify(signed)
    assert (found.verified, found.entries, found.records, found.signatures, found.files) == (True, 19, 3, 3, 2)


def test_every_meaning_may_be_signed_once_by_a_person(filled: Path) -> None:
    with open_store(filled) as store, store.transaction() as transaction:
        for meaning in MEANINGS:
            transaction.sign("R000001", **{**GIVEN, "meaning": meaning})
        transaction.sign("R000001", **{**GIVEN, "person": "otto"})
        transaction.sign("R000002", **GIVEN)
        with pytest.raises(InputError, match="signed R000001 with before"):
            transaction.sign("R000001", **GIVEN)
    assert verify(filled).signatures == len(MEANINGS) + 2


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("meaning", "seen"),
        ("meaning", "Released"),
        ("person", ""),
        ("printed_name", "  "),
        ("role", "a\0b"),
        ("act", ""),
        ("of", 0),
        ("of", True),
    ],
)
def test_a_signature_that_says_too_little_is_refused(filled: Path, field: str, value: object) -> None:
    with open_store(filled) as store:
        with pytest.raises(InputError) as refused, store.transaction() as transaction:
            transaction.sign("R000001", **{**GIVEN, field: value})
        assert refused.value.field == field
        assert store.signatures_of("R000001") == []


def test_only_a_record_can_be_signed(filled: Path) -> None:
    with open_store(filled) as store, store.transaction() as transaction:
        with pytest.raises(InputError, match="the id of a frozen record"):
            transaction.sign("R000004", **GIVEN)
        for kind in ("signature", "file"):
            with pytest.raises(InputError, match="writes its line with its row"):
                transaction.append(kind, "R000001", b"{}")


def test_a_record_changed_behind_the_store_cannot_be_signed(filled: Path, shell: Shell) -> None:
    guard = OBJECTS["record_refuses_update"]
    shell(filled, f"DROP TRIGGER record_refuses_update; UPDATE record SET body = x'7b7d' WHERE seq = 4; {guard};")
    match = "R000001 is not what was frozen"
    with open_store(filled) as store, store.transaction() as tx, pytest.raises(IntegrityError, match=match):
        tx.sign("R000001", **GIVEN)


@pytest.mark.parametrize(
    ("change", "asked"),
    [
        ("record = 'R000003'", "R000003"),
        ("meaning = 'released'", "R000001"),
        ("person = 'nina'", "R000001"),
        ("body = CAST(replace(CAST(body AS TEXT), 'Mara', 'Nina') AS BLOB)", "R000001"),
    ],
)
def test_a_signature_that_was_moved_or_edited_is_not_handed_out(
    signed: Path, shell: Shell, change: str, asked: str
) -> None:
    guard = OBJECTS["signature_refuses_update"]
    shell(signed, f"DROP TRIGGER signature_refuses_update; UPDATE signature SET {change} WHERE seq = 14; {guard};")
    with open_store(signed) as store, pytest.raises(IntegrityError, match="run isohume verify"):
        store.signatures_of(asked)


def test_a_signature_whose_line_was_deleted_is_not_handed_out(signed: Path, shell: Shell) -> None:
    guard = OBJECTS["ledger_refuses_delete"]
    shell(signed, f"DROP TRIGGER ledger_refuses_delete; DELETE FROM ledger WHERE seq = 15; {guard};")
    with open_store(signed) as store, pytest.raises(IntegrityError, match="signature 15 has no ledger line"):
        store.signatures_of("R000001")


BODY = "(SELECT body FROM signature WHERE seq = 14)"
REFUSED = [
    "UPDATE signature SET record = 'R000003' WHERE seq = 14",
    "UPDATE OR REPLACE signature SET record = 'R000002' WHERE seq = 14",
    "UPDATE OR IGNORE signature SET meaning = meaning",
    "DELETE FROM signature",
    "DELETE FROM signature WHERE seq = 15",
    "INSERT OR REPLACE INTO signature SELECT seq, record, person, 'released', body FROM signature WHERE seq = 14",
    "REPLACE INTO signature (rowid, record, person, meaning, body) VALUES (14, 'R000003', 'x', 'closed', x'')",
    f"REPLACE INTO signature VALUES (20, 'R000001', 'mara', 'reviewed', {BODY})",
    f"INSERT INTO signature VALUES (20, 'R000001', 'mara', 'reviewed', {BODY}) ON CONFLICT DO UPDATE SET body = x''",
    f"INSERT OR IGNORE INTO signature VALUES (20, 'R000001', 'mara', 'reviewed', {BODY})",
    f"INSERT INTO signature VALUES (21, 'R000003', 'mara', 'reviewed', {BODY})",
    f"INSERT INTO signature VALUES (18, 'R000003', 'mara', 'reviewed', {BODY})",
    f"INSERT INTO signature VALUES (20, 'R000004', 'mara', 'reviewed', {BODY})",
    "INSERT INTO ledger SELECT 20, at, 'signature', 'R000003', x'', digest, 'd' FROM ledger WHERE seq = 19",
    "INSERT INTO ledger SELECT 20, at, 'signature', 'R000001', x'', digest, 'd' FROM ledger WHERE seq = 19",
]


@pytest.mark.parametrize("sql", REFUSED)
def test_the_database_refuses(signed: Path, sql: str) -> None:
    # a connection as somebody else would open it: foreign keys and recursive triggers off
    with closing(sqlite3.connect(signed / DATABASE)) as connection:
        before = connection.execute("SELECT * FROM signature").fetchall()
        with pytest.raises(sqlite3.IntegrityError, match=r"a signature|a ledger line"):
            connection.execute(sql)
        connection.commit()
        assert connection.execute("SELECT * FROM signature").fetchall() == before
    assert verify(signed).verified


def test_a_signature_without_its_line_cannot_be_committed(signed: Path) -> None:
    with closing(sqlite3.connect(signed / DATABASE)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("INSERT INTO signature VALUES (20, 'R000003', 'mara', 'reviewed', x'7b7d')")
        with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
            connection.commit()
    assert verify(signed).verified


def forged(folder: Path, record: str, other: dict[str, object]) -> None:
    """A signature and its line, chained as the rules ask, by somebody with a database connection."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        content: dict[str, object] = {"record": record, "digest": "f" * 64, "at": "2026-11-24T16:00:00+00:00", **GIVEN}
        body = signature_body(content | other)
        previous = connection.execute("SELECT digest FROM ledger WHERE seq = 19").fetchone()[0]
        connection.execute("INSERT INTO signature VALUES (20, ?, 'mara', 'released', ?)", (record, body))
        digest = line_digest(20, "at", "signature", record, body, previous)
        row = (20, "at", "signature", record, body, previous, digest)
        connection.execute("INSERT INTO ledger VALUES (?, ?, ?, ?, ?, ?, ?)", row)
        connection.commit()


@pytest.mark.parametrize("other", [{}, {"record": "R000001"}, {"person": "otto"}, {"meaning": "closed"}])
def test_a_chained_signature_of_another_content_is_found(signed: Path, other: dict[str, object]) -> None:
    forged(signed, "R000003", other)
    found = verify(signed)
    assert found.first_bad is not None
    assert (found.first_bad.kind, found.first_bad.id) == ("signature", "20")
    with open_store(signed) as store, pytest.raises(IntegrityError, match="run isohume verify"):
        store.signatures_of("R000003")


def test_a_body_that_is_no_signature_is_named() -> None:
    line = (9, "at", "signature", "R000001", b"[]", "", "")
    for body in (b"[]", b"\xff", b"{}"):
        row = SignatureRow(9, "R000001", "mara", "closed", body, "f" * 64)
        reason = fault_of_signature(row, (*line[:4], body, *line[5:]))
        assert reason is not None
        assert "not that of a signature" in reason


def test_a_signature_of_no_record_is_named() -> None:
    body = signature_body({"record": "R000009", "digest": "f" * 64, "at": "x", **GIVEN})
    row = SignatureRow(9, "R000009", "mara", "released", body, None)
    reason = fault_of_signature(row, (9, "at", "signature", "R000009", body, "", ""))
    assert reason == "signature 9 of record R000009: there is no such record"

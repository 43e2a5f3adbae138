"""One transaction on the evidence: lines are chained, records frozen, signed and files kept together, or nothing is.

It works on any DB-API connection that has begun to write (here sqlite3), so that a change in a register of the same
database and its ledger line are one commit.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from json.encoder import encode_basestring
from typing import Any

from isohume.bench.record.canonical_form import canonical
from isohume.bench.record.canonical_form import digest as digest_of
from isohume.bench.record.head import Head, HeadFile
from isohume.bench.record.kept_file import FILE_KIND, file_payload
from isohume.bench.record.line import Entry, Row, line_digest
from isohume.bench.record.queries import FrozenRecord, Questions
from isohume.bench.record.signature import SIGNATURE_KIND, Signature, signature_body, signature_of
from isohume.bench.record.tables import (
    DIGEST_OF_LINE,
    FILE_KNOWN,
    GENESIS,
    HIGHEST_SEQ,
    INSERT_FILE,
    INSERT_LINE,
    INSERT_RECORD,
    INSERT_SIGNATURE,
    LAST_LINE,
    LAST_RECORD_ID,
    SIGNED_ALREADY,
)
from isohume.foundation.quantity.errors import InputError, IntegrityError

RECORD_KIND = "record"
# lines of these kinds are written together with their row, never by themselves
WRITTEN_WITH = {RECORD_KIND: "freeze", SIGNATURE_KIND: "sign", FILE_KIND: "keep_file"}
Build = Callable[[str, str], dict[str, Any]]


class ServerTime:
    """The moment of writing: ISO 8601, UTC with offset, whole seconds (the order is the sequence, not the clock)."""

    def __init__(self) -> None:
        self._second, self._text = -1, ""

    def __call__(self) -> str:
        """The present second as text."""
        second = int(time.time())
        if second != self._second:
            self._second, self._text = second, time.strftime("%Y-%m-%dT%H:%M:%S+00:00", time.gmtime(second))
        return self._text


def record_payload(record_id: str, lot: str, inputs_digest: str, digest: str) -> bytes:
    """What a record's ledger line holds, so that every column of the record hangs on the chain."""
    quoted = encode_basestring
    fields = f'"inputs_digest":{quoted(inputs_digest)},"lot":{quoted(lot)},"record":{quoted(record_id)}'
    # the canonical form, without its search for what has none
    return f'{{"digest":{quoted(digest)},{fields}}}'.encode()


class Transaction(Questions):
    """Writes to the evidence between BEGIN IMMEDIATE and COMMIT; the caller commits."""

    def __init__(self, connection: sqlite3.Connection, clock: Callable[[], str]) -> None:
        super().__init__(connection)
        self._clock = clock
        row: tuple[int, str] | None = connection.execute(LAST_LINE).fetchone()
        self._seq, self._digest = (0, GENESIS) if row is None else row

    @property
    def head(self) -> Head:
        """The last line as of this transaction."""
        return Head(self._seq, self._digest)

    def append(self, kind: str, ref: str, payload: bytes) -> Entry:
        """One more line.

        kind: what happened; 'record', 'signature' and 'file' are kept for freeze, sign and keep_file. ref: what it
        happened to. payload: the details, as bytes.
        """
        _refuse_unless_plain(kind, ref)
        return self._append(self._clock(), kind, ref, payload)

    def append_many(self, rows: Iterable[tuple[str, str, bytes]]) -> range:
        """Many lines (kind, ref, payload) with one time stamp; returns their places in the ledger."""
        first = self._seq + 1
        self._connection.executemany(INSERT_LINE, self._chained(self._clock(), rows))
        return range(first, self._seq + 1)

    def freeze(self, build: Build, lot: str, inputs_digest: str) -> FrozenRecord:
        """Freeze a record with the next id and its ledger line, together.

        build: called with the id and the moment of issue; returns the record's content, which must name both.
        """
        record_id, at = self._next_id(), self._clock()
        content = build(record_id, at)
        if content.get("id") != record_id or content.get("issued_at") != at:
            raise IntegrityError(f"record {record_id}: the content built for it names another id or moment of issue")
        body = canonical(content)
        digest, seq = digest_of(body), self._seq + 1
        self._connection.execute(INSERT_RECORD, (seq, record_id, lot, inputs_digest, digest, body))
        self._append(at, RECORD_KIND, record_id, record_payload(record_id, lot, inputs_digest, digest))
        return FrozenRecord(seq, record_id, lot, inputs_digest, digest, body, at)

    def sign(
        self,
        record_id: str,
        *,
        person: str,
        printed_name: str,
        role: str,
        meaning: str,
        act: str,
        of: int,
        statement: str,
    ) -> Signature:
        """Sign a record as it is stored, once a person and meaning, with its ledger line.

        person: the user's name, printed_name the person's. meaning: one of signature.MEANINGS. act: the id that all
        records of one signing share. of: how many those are. statement: what was signed, in words.
        """
        record = self.record(record_id)
        if record is None:
            raise InputError("record", record_id, "the id of a frozen record")
        at = self._clock()
        content = {
            "record": record_id, "digest": record.digest, "person": person, "printed_name": printed_name, "role": role,
            "meaning": meaning, "at": at, "act": act, "of": of, "statement": statement,
        }  # fmt: skip
        body = signature_body(content)
        if self._connection.execute(SIGNED_ALREADY, (record_id, person, meaning)).fetchone() is not None:
            raise InputError("meaning", meaning, f"another than {person} signed {record_id} with before")
        seq = self._seq + 1
        self._connection.execute(INSERT_SIGNATURE, (seq, record_id, person, meaning, body))
        self._append(at, SIGNATURE_KIND, record_id, body)
        return signature_of(seq, body)

    def keep_file(self, name: str, body: bytes) -> str:
        """Keep the bytes of a file, once; returns their SHA-256. The name is the one first given."""
        if not name or "\0" in name:
            raise InputError("name", name, "text without a NUL character, not empty")
        digest = digest_of(body)
        if self._connection.execute(FILE_KNOWN, (digest,)).fetchone() is None:
            payload = file_payload(name, digest, len(body))
            self._connection.execute(INSERT_FILE, (self._seq + 1, digest, name, body))
            self._append(self._clock(), FILE_KIND, digest, payload)
        return digest

    def _append(self, at: str, kind: str, ref: str, payload: bytes) -> Entry:
        seq, previous = self._seq + 1, self._digest
        digest = line_digest(seq, at, kind, ref, payload, previous)
        entry = Entry(seq, at, kind, ref, payload, previous, digest)
        self._connection.execute(INSERT_LINE, entry)
        self._seq, self._digest = seq, digest
        return entry

    def _chained(self, at: str, rows: Iterable[tuple[str, str, bytes]]) -> Iterator[Row]:
        seq, digest = self._seq, self._digest
        for kind, ref, payload in rows:
            seq, previous = seq + 1, digest
            digest = line_digest(seq, at, kind, ref, payload, previous)
            yield seq, at, kind, ref, payload, previous, digest
        self._seq, self._digest = seq, digest

    def _next_id(self) -> str:
        row = self._connection.execute(LAST_RECORD_ID).fetchone()
        return record_id_after(None if row is None else row[0])


def record_id_after(last: str | None) -> str:
    """The id that follows: R000001, R000002 and so on."""
    return f"R{1 if last is None else int(last[1:]) + 1:06d}"


def is_plain(kind: str, ref: str) -> bool:
    """Whether a line may say this of itself: no empty text, no NUL, and no line that needs a row without it."""
    return bool(kind and ref) and kind not in WRITTEN_WITH and "\0" not in kind and "\0" not in ref


def _refuse_unless_plain(kind: str, ref: str) -> None:
    if kind in WRITTEN_WITH:
        raise InputError("kind", kind, f"any kind but this one: {WRITTEN_WITH[kind]} writes its line with its row")
    for field, text in (("kind", kind), ("ref", ref)):
        if not text or "\0" in text:
            raise InputError(field, text, "text without a NUL character, not empty")


def joined(
    connection: sqlite3.Connection,
    head: HeadFile,
    clock: Callable[[], str],
    known: tuple[int, str] | None = None,
) -> Transaction:
    """The evidence's part of a transaction that the caller began and will commit.

    connection: a connection to the store's database that has begun to write (BEGIN IMMEDIATE), foreign keys on [text].
    head: the store's head file, opened; after the commit the caller moves it: head.write(*transaction.head) [text].
    clock: gives the moment of writing, ISO 8601 with offset [text].
    known: the last line as the caller itself left it; if it still is the last one, nothing is compared [text].
    Returns: the Transaction [text].
    Raises: IntegrityError where numbering, head file and ledger do not agree: nothing is appended over such a trace.
    Beyond: a connection that has not begun is refused: each statement would be a commit of its own.
    Source: 21CFR11, 11.10(e).
    """
    if not connection.in_transaction:
        raise IntegrityError("the evidence is written in a transaction only; none was begun")
    transaction = Transaction(connection, clock)
    begun = transaction.head
    if begun != known:
        # read under the write lock: no other process can commit, so the head cannot run ahead of what we see
        refuse_unless_it_continues(connection, begun, head.read())
    return transaction


def refuse_unless_it_continues(connection: sqlite3.Connection, last: Head, head: Head | None) -> None:
    """Appending to a ledger whose tail was cut or rewritten would bury the trace of it: such a ledger is refused.

    connection: a connection that has begun to write [text].
    last: the ledger's last line [text].
    head: the last line that the head file knows; None where it holds something else [text].
    Raises: IntegrityError where numbering, head file and ledger do not agree.
    Source: 21CFR11, 11.10(e).
    """
    highest = connection.execute(HIGHEST_SEQ).fetchone()
    if (0 if highest is None else highest[0]) != last.seq:
        raise IntegrityError(
            f"the ledger ends at line {last.seq}, but its numbering says otherwise; nothing was written; "
            "run isohume verify"
        )
    if head is None:
        raise IntegrityError("the head file is damaged; nothing was written; run isohume verify")
    known = last.digest
    if head.seq < last.seq:
        row = connection.execute(DIGEST_OF_LINE, (head.seq,)).fetchone()
        known = GENESIS if head.seq == 0 else (row[0] if row else "")
    if head.seq > last.seq or known != head.digest:
        raise IntegrityError(
            f"the ledger (at line {last.seq}) does not continue from its head file (line {head.seq}); nothing was "
            "written; run isohume verify"
        )

"""Ledger and records walked together, in the order of the sequence: what is the first thing that does not hold?

Blocks are checked with a few comparisons of whole lists, because nearly every block is good; only a block that is
not is walked again line by line, to name what is wrong.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import NamedTuple

from isohume.bench.record.line import Row, line_digest, line_digests
from isohume.bench.record.tables import ALL_LINES, ALL_RECORDS, GENESIS, LINES_FROM
from isohume.bench.record.transaction import RECORD_KIND, record_payload
from isohume.foundation.quantity.errors import InputError

BLOCK = 128


class Bad(NamedTuple):
    """The first thing that is not as it was written: what kind of thing, which one, and why."""

    kind: str
    id: str
    reason: str


class RecordRow(NamedTuple):
    """A row of the table of records."""

    seq: int
    id: str
    lot: str
    inputs_digest: str
    digest: str
    body: bytes


@dataclass(slots=True)
class Walked:
    """How far the walk came: the last good line, the first bad thing, and a record left over after the last line."""

    seq: int = 0
    digest: str = GENESIS
    bad: Bad | None = None
    left_over: Bad | None = None


def walk(connection: sqlite3.Connection) -> Walked:
    """Recompute every ledger line and every record in the order of the sequence.

    connection: a connection that sees one state of the store [text].
    Returns: the last good line, and the first bad thing if there is one [text].
    Source: FIPS180-4, 6.2.
    """
    walked = Walked()
    records = _Records(connection)
    try:
        lines = connection.execute(ALL_LINES)
        while rows := lines.fetchmany(BLOCK):
            if not _block_holds(rows, walked):
                break
            walked.bad = records.first_bad(rows)
            if walked.bad is not None:
                return walked
            walked.seq, walked.digest = rows[-1][0], rows[-1][6]
        else:
            walked.left_over = records.without_line()
            return walked
    except (sqlite3.Error, TypeError, UnicodeError):
        pass  # a line that cannot even be read: found below, with its number
    walked.bad = _first_bad_line(connection, records, walked)
    return walked


def _block_holds(rows: list[Row], walked: Walked) -> bool:
    digests = [row[6] for row in rows]
    return (
        line_digests(rows) == digests
        and [row[5] for row in rows] == [walked.digest, *digests[:-1]]
        and [row[0] for row in rows] == list(range(walked.seq + 1, walked.seq + 1 + len(rows)))
    )


def _first_bad_line(connection: sqlite3.Connection, records: _Records, walked: Walked) -> Bad | None:
    """Walk on line by line from the last good one; text that is no UTF-8 is read all the same, to be named."""
    seq = walked.seq
    connection.text_factory = lambda stored: stored.decode("utf-8", "surrogateescape")
    try:
        lines = iter(connection.execute(LINES_FROM, (seq + 1,)))
        for row in lines:
            reason = _fault_of_line(row, walked)
            if reason is not None:
                return Bad("ledger", str(walked.seq + 1), reason)
            bad = records.first_bad([row])
            if bad is not None:
                return bad
            walked.seq, walked.digest = row[0], row[6]
    except sqlite3.Error as error:
        return Bad("ledger", str(walked.seq + 1), f"line {walked.seq + 1} cannot be read: {error}")
    return Bad("ledger", str(seq + 1), f"line {seq + 1} cannot be read twice alike")


def _fault_of_line(row: Row, walked: Walked) -> str | None:
    seq, at, kind, ref, payload, previous, digest = row
    expected = walked.seq + 1
    if seq != expected:
        return f"line {expected} is missing: line {seq} follows line {walked.seq}"
    if not isinstance(payload, bytes) or not all(isinstance(text, str) for text in (at, kind, ref, previous, digest)):
        return f"line {seq}: a column does not hold the type it was written with"
    try:
        recomputed = line_digest(seq, at, kind, ref, payload, previous)
    except UnicodeError:
        return f"line {seq}: a text is not UTF-8"
    if recomputed != digest:
        return f"line {seq} is not what was written: its digest does not match its content"
    if previous != walked.digest:
        return f"line {seq} does not continue the chain: it names another digest than line {walked.seq} has"
    return None


class _Records:
    """The records in the order of their ledger lines, read as far as the walk has come."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._last = 0
        self._rows = _record_rows(connection)
        self._next = self._advance()

    def first_bad(self, rows: list[Row]) -> Bad | None:
        """The first record that does not agree with these ledger lines, which are good."""
        end = rows[-1][0]
        for line in [row for row in rows if row[2] == RECORD_KIND]:
            found = self._next
            if isinstance(found, Bad):
                return Bad("record", line[3], f"record {line[3]}: {found.reason}")
            if found is not None and found.seq < line[0]:
                break
            if found is None or found.seq != line[0]:
                return Bad("record", line[3], f"record {line[3]} is missing: ledger line {line[0]} speaks of it")
            reason = fault_of_record(found, line)
            if reason is not None:
                return Bad("record", line[3], reason)
            self._next = self._advance()
        if isinstance(self._next, RecordRow) and self._next.seq <= end:
            return self.without_line()
        return None

    def without_line(self) -> Bad | None:
        """The next record, as one that no ledger line speaks of."""
        found = self._next
        if found is None or isinstance(found, Bad):
            return found
        reason = f"record {found.id} has no ledger line that speaks of it (it names line {found.seq})"
        return Bad("record", str(found.id), reason)

    def _advance(self) -> RecordRow | Bad | None:
        try:
            row = next(self._rows, None)
        except sqlite3.Error as error:
            return Bad("record", f"after ledger line {self._last}", f"it cannot be read: {error}")
        if row is not None:
            self._last = row.seq
        return row


def _record_rows(connection: sqlite3.Connection) -> Iterator[RecordRow]:
    # a generator, so that even the first row is read (and fails, if it does) where it is asked for
    yield from map(RecordRow._make, connection.execute(ALL_RECORDS))


def fault_of_record(found: RecordRow, line: Row) -> str | None:
    """Why a record is not the one its ledger line speaks of, or None.

    found: the row of the table of records [text].
    line: the good ledger line of the same number [text].
    Returns: the reason [text].
    Source: 21CFR11, 11.70.
    """
    ref, payload = line[3], line[4]
    if not isinstance(found.body, bytes):
        return f"record {ref}: its body does not hold the type it was written with"
    if sha256(found.body).hexdigest() != found.digest:
        return f"record {ref} is not what was frozen: its digest does not match its body"
    if found.id != ref:
        return f"record {found.id} stands at the ledger line of record {ref}"
    differing = _differing_column(found, payload)
    if differing is not None:
        return f"record {ref} is not the one that ledger line {line[0]} froze: {differing} differs"
    if f'"id":"{ref}"'.encode() not in found.body:
        return f"record {ref}: its body names another id"
    return None


def _differing_column(found: RecordRow, payload: bytes) -> str | None:
    try:
        if record_payload(found.id, found.lot, found.inputs_digest, found.digest) == payload:
            return None
        said = json.loads(payload)
        columns = {"lot": found.lot, "inputs_digest": found.inputs_digest, "digest": found.digest, "record": found.id}
        return next((name for name, value in columns.items() if said.get(name) != value), "the form of the line")
    except (InputError, ValueError, AttributeError):
        return "a text column"

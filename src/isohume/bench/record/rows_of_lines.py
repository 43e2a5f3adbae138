"""The rows that ledger lines speak of: records, signatures, files. Each table is read along with the ledger, once."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator
from hashlib import sha256
from typing import Any, NamedTuple

from isohume.bench.record.kept_file import FILE_KIND, FileRow, fault_of_file
from isohume.bench.record.line import Row
from isohume.bench.record.signature import SIGNATURE_KIND, SignatureRow, fault_of_signature
from isohume.bench.record.tables import ALL_FILES, ALL_RECORDS, ALL_SIGNATURES
from isohume.bench.record.transaction import RECORD_KIND, record_payload
from isohume.foundation.quantity.errors import InputError


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


class Kept(NamedTuple):
    """One table whose rows have ledger lines: how it is read, how a row is judged, and by what it is named."""

    kind: str
    query: str
    row: Callable[[Any], Any]
    fault: Callable[[Any, Row], str | None]
    id_of_row: Callable[[Any], str]
    id_of_line: Callable[[Row], str]


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


KEPT = (
    Kept(RECORD_KIND, ALL_RECORDS, RecordRow._make, fault_of_record, lambda row: str(row.id), lambda line: line[3]),
    # a record may have several signatures: each is named by its place in the ledger
    Kept(
        SIGNATURE_KIND,
        ALL_SIGNATURES,
        SignatureRow._make,
        fault_of_signature,
        lambda row: str(row.seq),
        lambda line: str(line[0]),
    ),
    Kept(FILE_KIND, ALL_FILES, FileRow._make, fault_of_file, lambda row: str(row.sha256), lambda line: line[3]),
)


class RowsOfLines:
    """The rows of one table in the order of their ledger lines, read as far as the walk has come."""

    def __init__(self, connection: sqlite3.Connection, kept: Kept, *, there: bool) -> None:
        self.kind = kept.kind
        self._kept = kept
        self._last = 0
        self._rows: Iterator[Any] = _rows(connection, kept) if there else iter(())
        self._next = self._advance()

    def first_bad(self, line: Row) -> Bad | None:
        """The row of a good ledger line of this kind, where it does not agree with it."""
        found, name = self._next, self._kept.id_of_line(line)
        if isinstance(found, Bad):
            return Bad(self.kind, name, f"{self.kind} {name}: {found.reason}")
        if found is not None and found.seq < line[0]:
            return self.without_line()
        if found is None or found.seq != line[0]:
            return Bad(self.kind, name, f"{self.kind} {name} is missing: ledger line {line[0]} speaks of it")
        reason = self._kept.fault(found, line)
        if reason is not None:
            return Bad(self.kind, name, reason)
        self._next = self._advance()
        return None

    def passed_over(self, seq: int) -> Bad | None:
        """The next row, where it says of itself that it belongs to a line up to this one."""
        found = self._next
        return None if found is None or isinstance(found, Bad) or found.seq > seq else self.without_line()

    def without_line(self) -> Bad | None:
        """The next row, as one that no ledger line speaks of."""
        found = self._next
        if found is None or isinstance(found, Bad):
            return found
        name = self._kept.id_of_row(found)
        reason = f"{self.kind} {name} has no ledger line that speaks of it (it names line {found.seq})"
        return Bad(self.kind, name, reason)

    def _advance(self) -> Any:
        try:
            row = next(self._rows, None)
        except sqlite3.Error as error:
            return Bad(self.kind, f"after ledger line {self._last}", f"it cannot be read: {error}")
        if row is not None:
            self._last = row.seq
        return row


def _rows(connection: sqlite3.Connection, kept: Kept) -> Iterator[Any]:
    # a generator, so that even the first row is read (and fails, if it does) where it is asked for
    yield from map(kept.row, connection.execute(kept.query))

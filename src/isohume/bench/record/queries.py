"""Named questions to the evidence tables; every record, signature and file in an answer was checked first."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from typing import Any, NamedTuple

from isohume.bench.record.canonical_form import digest as digest_of
from isohume.bench.record.line import Entry
from isohume.bench.record.signature import SIGNATURE_KIND, Signature, SignatureRow, fault_of_signature, signature_of
from isohume.bench.record.tables import ALL_LINES, FILE_BODY, LINES_OF_KIND, RECORD_WITH_AT, SIGNATURES_OF_RECORD
from isohume.foundation.quantity.errors import IntegrityError


class FrozenRecord(NamedTuple):
    """A record as stored: its canonical bytes and their digest."""

    seq: int
    id: str
    lot: str
    inputs_digest: str
    digest: str
    body: bytes
    issued_at: str

    @property
    def content(self) -> dict[str, Any]:
        """The record as a plain object."""
        parsed: dict[str, Any] = json.loads(self.body)
        return parsed


class Questions:
    """What may be asked of the evidence, inside a transaction or outside."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def record(self, record_id: str) -> FrozenRecord | None:
        """The record with this id, or None."""
        return next(self._records("r.id = ?", record_id), None)

    def find_by_inputs(self, inputs_digest: str) -> FrozenRecord | None:
        """The first record frozen from these inputs, or None: the same inputs make the same record."""
        return next(self._records("r.inputs_digest = ? ORDER BY r.seq LIMIT 1", inputs_digest), None)

    def records_of_lot(self, lot: str) -> list[FrozenRecord]:
        """Every record of a lot, oldest first."""
        return list(self._records("r.lot = ? ORDER BY r.seq", lot))

    def signatures_of(self, record_id: str) -> list[Signature]:
        """Every signature of a record, oldest first, each checked against its ledger line and the record's digest."""
        found = []
        for *row, kind, ref, payload in self._connection.execute(SIGNATURES_OF_RECORD, (record_id,)):
            signed = SignatureRow(*row)
            if kind != SIGNATURE_KIND:
                raise IntegrityError(f"signature {signed.seq} has no ledger line; run isohume verify")
            fault = fault_of_signature(signed, (signed.seq, "", kind, ref, payload, "", ""))
            if fault is not None:
                raise IntegrityError(f"{fault}; run isohume verify")
            found.append(signature_of(signed.seq, signed.body))
        return found

    def file(self, sha256: str) -> bytes | None:
        """The bytes of a kept file, or None."""
        row = self._connection.execute(FILE_BODY, (sha256,)).fetchone()
        if row is None:
            return None
        body: bytes = row[0]
        if digest_of(body) != sha256:
            raise IntegrityError(f"file {sha256} is not what was kept (its digest differs); run isohume verify")
        return body

    def events(self, kind: str | None = None) -> Iterator[Entry]:
        """The ledger's lines in order, all or of one kind."""
        rows = self._connection.execute(ALL_LINES) if kind is None else self._connection.execute(LINES_OF_KIND, (kind,))
        return (Entry(*row) for row in rows)

    def _records(self, condition: str, value: str) -> Iterator[FrozenRecord]:
        for row in self._connection.execute(RECORD_WITH_AT + condition, (value,)):
            found = FrozenRecord(*row)
            if found.issued_at is None:
                raise IntegrityError(f"record {found.id} has no ledger line; run isohume verify")
            if digest_of(found.body) != found.digest:
                raise IntegrityError(
                    f"record {found.id} is not what was frozen (its digest differs); run isohume verify"
                )
            yield found

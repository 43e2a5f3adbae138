"""A deliberately broken isohume: record and ledger line are committed one after the other.

It exists so that the kill harness can show that it would see such a fault. It takes the same arguments as `isohume`.
The database's own guard against it (a deferred foreign key) has to be switched off first.
"""

from __future__ import annotations

import sys

from isohume.bench.record import store as store_module
from isohume.bench.record.canonical_form import canonical, digest
from isohume.bench.record.queries import FrozenRecord
from isohume.bench.record.tables import INSERT_RECORD
from isohume.bench.record.transaction import Build, Transaction, record_payload
from isohume.outlets.cli.main import run


def freeze_in_two_commits(transaction: Transaction, build: Build, lot: str, inputs_digest: str) -> FrozenRecord:
    """What `Transaction.freeze` must never do: a moment in which the record is kept and its ledger line is not."""
    record_id, at = transaction._next_id(), transaction._clock()
    body = canonical(build(record_id, at))
    seq, found = transaction.head.seq + 1, digest(body)
    transaction._connection.execute(INSERT_RECORD, (seq, record_id, lot, inputs_digest, found, body))
    transaction._connection.execute("COMMIT")
    transaction._connection.execute("BEGIN IMMEDIATE")
    transaction._append(at, "record", record_id, record_payload(record_id, lot, inputs_digest, found))
    return FrozenRecord(seq, record_id, lot, inputs_digest, found, body, at)


def break_the_store() -> None:
    """Put the fault in place of the sound code, in this process only."""
    sound = store_module._connected

    def unguarded(database):  # type: ignore[no-untyped-def]
        connection = sound(database)
        connection.execute("PRAGMA foreign_keys = OFF")
        return connection

    store_module._connected = unguarded
    Transaction.freeze = freeze_in_two_commits  # type: ignore[method-assign]


if __name__ == "__main__":
    break_the_store()
    sys.exit(run())

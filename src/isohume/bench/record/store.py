"""The store of a folder: the evidence tables in one SQLite database, and the head file beside it."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType

from isohume.bench.record.head import HeadFile, open_head
from isohume.bench.record.line import Entry, line_digest
from isohume.bench.record.queries import FrozenRecord, Questions
from isohume.bench.record.tables import (
    ADDED_OBJECTS,
    DATABASE,
    INSERT_LINE,
    LINE_OF_ADDED_KIND,
    OBJECTS,
    OLDEST_SQLITE,
    SHIPPED,
    faults_of,
    lacks_what_was_added,
)
from isohume.bench.record.transaction import Build, ServerTime, Transaction, is_plain, joined
from isohume.foundation.quantity.errors import InputError, IntegrityError

BUSY_S = 30.0


class Store(Questions):
    """An opened store; use it as a context manager or close it."""

    def __init__(self, folder: Path, connection: sqlite3.Connection, head: HeadFile, clock: Callable[[], str]) -> None:
        super().__init__(connection)
        self.folder = folder
        self._head = head
        self._clock = clock
        self._execute = connection.execute
        # The last line's number and digest as this store left it: as long as nobody else writes, nothing is compared.
        # None before the first transaction, within one, and after one that failed.
        self._last: tuple[int, str] | None = None

    @contextmanager
    def transaction(self) -> Iterator[Transaction]:
        """BEGIN IMMEDIATE ... COMMIT; an exception inside rolls everything back."""
        connection = self._connection
        connection.execute("BEGIN IMMEDIATE")
        known, self._last = self._last, None
        try:
            transaction = joined(connection, self._head, self._clock, known)
            begun = transaction.head
            yield transaction
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
        self._last = last = transaction.head
        if last != begun:
            self._head.write(*last)

    def append(self, kind: str, ref: str, payload: bytes) -> Entry:
        """One line in a transaction of its own.

        As long as nobody else wrote since, its place in the chain is known and one statement is the transaction; if
        somebody did, the trigger refuses the line and it is placed anew.
        """
        if self._last is not None and is_plain(kind, ref):
            # few calls: after every sync the processor's caches are cold, and a call costs microseconds
            seq, previous = self._last
            seq, at = seq + 1, self._clock()
            digest = line_digest(seq, at, kind, ref, payload, previous)
            row = (seq, at, kind, ref, payload, previous, digest)
            try:
                self._execute(INSERT_LINE, row)
                self._last = (seq, digest)
                self._head.write(seq, digest)
                return tuple.__new__(Entry, row)
            except sqlite3.IntegrityError:
                pass  # placed anew below, or refused there with the reason
        with self.transaction() as transaction:
            return transaction.append(kind, ref, payload)

    def freeze_once(self, build: Build, lot: str, inputs_digest: str) -> tuple[FrozenRecord, bool]:
        """The record of these inputs: the one already frozen, or a new one; true where it is new."""
        with self.transaction() as transaction:
            known = transaction.find_by_inputs(inputs_digest)
            if known is not None:
                return known, False
            return transaction.freeze(build, lot, inputs_digest), True

    def close(self) -> None:
        """Close the database and the head file."""
        self._connection.close()
        self._head.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def open_store(folder: Path | str, create: bool = True, clock: Callable[[], str] | None = None) -> Store:
    """Open a folder's store for writing; make it where it is not there.

    folder: the data folder [text].
    create: whether a missing store is made [1].
    clock: gives the moment of writing, ISO 8601 with offset; the computer's clock where it is not given [text].
    Returns: the Store; close it, or use it with `with` [text].
    Raises: InputError where there is no store and none is to be made; IntegrityError where a guard is missing.
    Source: 21CFR11, 11.10(e).
    """
    folder = Path(folder)
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise InputError("SQLite", sqlite3.sqlite_version, f"{'.'.join(map(str, OLDEST_SQLITE))} or newer")
    database = folder / DATABASE
    if not create and not database.is_file():
        raise InputError("folder", str(folder), f"a folder with a store ({DATABASE})")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        connection = _connected(database)
    except (OSError, sqlite3.OperationalError) as error:
        raise InputError("folder", str(folder), f"a folder that can be written ({error})") from None
    except sqlite3.DatabaseError as error:
        raise IntegrityError(f"{DATABASE} cannot be read ({error}); nothing was written") from None
    try:
        found = _shipped_objects(connection)
        # The head comes first: a store with tables and no head file has lost it.
        head = open_head(folder) if found else HeadFile(folder, create=True)
        if not found:
            _create_tables(connection, folder)
            found = _shipped_objects(connection)
        _refuse_altered_guards(found)
        if lacks_what_was_added(found):
            _add_what_came_later(connection)
    except BaseException:
        connection.close()
        raise
    return Store(folder, connection, head, clock or ServerTime())


def _connected(database: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(database, timeout=BUSY_S, isolation_level=None)
    until = time.monotonic() + BUSY_S
    while True:
        try:
            mode = connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
            break
        except sqlite3.OperationalError as error:
            # two processes making the same store: SQLite does not wait here, so we do
            if "locked" not in str(error) or time.monotonic() > until:
                connection.close()
                raise
            time.sleep(0.01)
    if mode != "wal":
        connection.close()
        raise sqlite3.OperationalError(f"write-ahead logging is not possible here, SQLite offers {mode}")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def _shipped_objects(connection: sqlite3.Connection) -> dict[str, str]:
    return {name: sql for name, _, sql in connection.execute(SHIPPED)}


def _create_tables(connection: sqlite3.Connection, folder: Path) -> None:
    connection.execute("BEGIN IMMEDIATE")
    try:
        if not _shipped_objects(connection):  # another process may have been first
            for sql in OBJECTS.values():
                connection.execute(sql)
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    if os.name == "posix":  # the new names in the folder must outlive a power cut as well
        place = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(place)
        finally:
            os.close(place)


def _add_what_came_later(connection: sqlite3.Connection) -> None:
    """A store made before signatures and files were kept gets their tables, all or none of them."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        found = _shipped_objects(connection)  # another process may have been first
        _refuse_altered_guards(found)
        if lacks_what_was_added(found):
            line = connection.execute(LINE_OF_ADDED_KIND).fetchone()
            if line is not None:
                raise IntegrityError(
                    f"ledger line {line[0]} speaks of a signature or a file, but their tables are missing; "
                    "nothing was written; run isohume verify"
                )
            for sql in ADDED_OBJECTS.values():
                connection.execute(sql)
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise


def _refuse_altered_guards(found: dict[str, str]) -> None:
    faults = faults_of(found)
    if faults:
        raise IntegrityError(f"{faults[0][2]}; nothing was written; run isohume verify")

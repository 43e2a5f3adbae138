"""Opening a store to read it and nothing else: no file is made, repaired or checkpointed, in any state it was left."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from urllib.parse import quote


@contextmanager
def opened_to_read(database: Path, *, with_locks: bool = False) -> Iterator[sqlite3.Connection]:
    """A connection that can only read.

    database: the database file [text].
    with_locks: a writer was seen at work, so its locks are respected even where its log is empty [1].
    Returns: a connection, closed at the end [text].
    Raises: sqlite3.Error where SQLite cannot read the file.
    Beyond: a log without its index, or in a folder that cannot be written, is read from a copy in the temporary folder.
    Source: SQLite's own rules for read-only databases in write-ahead mode.
    """
    log, index = Path(f"{database}-wal"), Path(f"{database}-shm")
    with ExitStack() as held:
        connection = None
        if not with_locks and not _holds_something(log):
            # Nobody writes and nothing waits in the log. SQLite would still make its index file, unless told that
            # the file does not change; should a writer come meanwhile, `verify` looks again.
            connection = _connected(database, "immutable=1", held)
        elif with_locks or index.exists():
            connection = _connected_or_none(database, held)
        if connection is None:
            copy = Path(held.enter_context(tempfile.TemporaryDirectory(prefix="isohume-verify-"))) / database.name
            shutil.copyfile(database, copy)
            if log.exists():
                shutil.copyfile(log, f"{copy}-wal")
            connection = _connected(copy, "mode=ro", held)
        yield connection


def _connected_or_none(database: Path, held: ExitStack) -> sqlite3.Connection | None:
    connection = _connected(database, "mode=ro", held)
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.OperationalError as error:
        # the folder cannot be written, so SQLite cannot share its index with other processes
        if "unable to open" not in str(error) and "readonly" not in str(error):
            raise
        return None
    return connection


def log_state(database: Path) -> tuple[int, ...]:
    """What changes when a writer was at work: sizes and times of the database and its log."""
    state = []
    for path in (database, Path(f"{database}-wal")):
        try:
            seen = path.stat()
            state += [seen.st_size, seen.st_mtime_ns]
        except FileNotFoundError:
            state += [0, 0]
    return tuple(state)


def _holds_something(path: Path) -> bool:
    try:
        return path.stat().st_size > 0
    except FileNotFoundError:
        return False


def _connected(database: Path, how: str, held: ExitStack) -> sqlite3.Connection:
    place = f"file:{quote(str(database.resolve()))}?{how}"
    connection = sqlite3.connect(place, uri=True, isolation_level=None, timeout=30.0)
    held.callback(connection.close)
    connection.execute("PRAGMA query_only = ON")
    connection.execute("PRAGMA cell_size_check = ON")
    return connection

"""Opening a store to read it and nothing else: no file is made, repaired or checkpointed, in any state it was left."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote


@contextmanager
def opened_to_read(database: Path) -> Iterator[sqlite3.Connection]:
    """A connection that can only read.

    database: the database file [text].
    Returns: a connection, closed at the end [text].
    Raises: sqlite3.Error where SQLite cannot read the file.
    Beyond: a log without its index, or in a folder that cannot be written, is read from a copy in the temporary folder.
    Source: SQLite's own rules for read-only databases in write-ahead mode.
    """
    log, index = Path(f"{database}-wal"), Path(f"{database}-shm")
    if not _holds_something(log):
        # Nobody writes and nothing waits in the log. SQLite would still make its index file, unless told that the
        # file does not change; should a writer come meanwhile, `verify` looks again.
        with _connected(database, "immutable=1") as connection:
            yield connection
        return
    if index.exists():
        try:
            with _connected(database, "mode=ro") as connection:
                connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
                yield connection
                return
        except sqlite3.OperationalError as error:
            if "unable to open" not in str(error) and "readonly" not in str(error):
                raise
    with tempfile.TemporaryDirectory(prefix="isohume-verify-") as place:
        copy = Path(place) / database.name
        shutil.copyfile(database, copy)
        shutil.copyfile(log, f"{copy}-wal")
        with _connected(copy, "mode=ro") as connection:
            yield connection


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


@contextmanager
def _connected(database: Path, how: str) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(
        f"file:{quote(str(database.resolve()))}?{how}", uri=True, isolation_level=None, timeout=30.0
    )
    try:
        connection.execute("PRAGMA query_only = ON")
        connection.execute("PRAGMA cell_size_check = ON")
        yield connection
    finally:
        connection.close()

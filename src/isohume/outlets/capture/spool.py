"""The durable spool: every entry on disk before anything else happens to it, numbered once, kept until acknowledged.

SQLite in WAL mode with a synced commit. Entries, what the readers must remember and how far files were read are
committed together, so that a kill at any moment neither loses nor doubles.
"""

from __future__ import annotations

import json
import os
import secrets
import sqlite3
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from isohume.bench.record.entry_chain import chain_after, chain_begun
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.entry import Entry, wire
from isohume.outlets.capture.known import KnownRun, Remembered
from isohume.outlets.capture.spool_tables import FORMAT, TABLES, bring_up

DATABASE = "spool.sqlite3"
KEPT_S = 30 * 24 * 3600.0  # delivered entries, for a site that was put back from an older copy
MARK_EVERY_S = 3600.0
PRUNED_AT_ONCE = 20_000
BUSY_S = 30.0
# the last run of each instrument stays: after a long pause the instrument says it again
LET_GO = """
DELETE FROM entry WHERE n IN (
    SELECT n FROM entry WHERE n <= ? AND n <= (SELECT acknowledged FROM mark)
    AND run NOT IN (SELECT key FROM run WHERE rowid IN (SELECT max(rowid) FROM run GROUP BY instrument))
    ORDER BY n LIMIT ?)
"""


def open_database(folder: Path, *, read_only: bool = False) -> sqlite3.Connection:
    """A connection to the spool's database."""
    path = folder / DATABASE
    if read_only:
        return sqlite3.connect(f"file:{_in_url(path)}?mode=ro", uri=True, timeout=BUSY_S)
    connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    return connection


@contextmanager
def transaction(db: sqlite3.Connection) -> Iterator[None]:
    """All that is done in the block, or nothing of it."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise


def _in_url(path: Path) -> str:
    return path.resolve().as_uri().removeprefix("file://")


class Spool:
    """The writer's side; `commit` is all or nothing. It also knows the runs that were read before."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        new = not (folder / DATABASE).exists()
        self._db = open_database(folder)
        if new and os.name == "posix":
            (folder / DATABASE).chmod(0o600)
        self._db.executescript(f"BEGIN IMMEDIATE; {TABLES} COMMIT;")
        self._begin()
        row = self._db.execute("SELECT format FROM mark").fetchone()
        if row[0] != FORMAT:
            raise InputError("spool", str(folder), f"a spool of format {FORMAT}; this one is of format {row[0]}")
        row = self._db.execute("SELECT spool, last, runs, chain FROM mark").fetchone()
        self.key, self.last, self._runs, self._chain = str(row[0]), int(row[1]), int(row[2]), str(row[3])
        self._unwritten = Remembered()

    def _begin(self) -> None:
        """The one row of a new spool, or an older spool in today's format; all or nothing."""
        db, key = self._db, secrets.token_hex(16)
        with transaction(db):
            if db.execute("SELECT count(*) FROM mark").fetchone()[0]:
                bring_up(db)
            else:
                db.execute("INSERT INTO mark VALUES (1, ?, ?, 0, 0, 0, ?)", (FORMAT, key, chain_begun(key, 0)))

    def close(self) -> None:
        """Let go of the database."""
        self._db.close()

    # What was read before

    def new_key(self) -> str:
        """A run's name: counted up, written with the next commit."""
        self._runs += 1
        return f"run-{self._runs:06d}"

    def run(self, instrument: str, number: str) -> KnownRun | None:
        """The latest run of an instrument with this number."""
        fresh = self._unwritten.run(instrument, number)
        if fresh is not None:
            return fresh
        asked = "SELECT key, number, ended FROM run WHERE instrument = ? AND number = ? ORDER BY rowid DESC LIMIT 1"
        row = self._db.execute(asked, (instrument, number)).fetchone()
        if row is None:
            return None
        return KnownRun(row[0], row[1], self._unwritten.ended(row[0]) or row[2])

    def readings(self, key: str) -> dict[str, str]:
        """The water activities of a run by elapsed time, as written."""
        asked = "SELECT elapsed_s, a_w FROM entry WHERE run = ? AND a_w IS NOT NULL ORDER BY n"
        return {**dict(self._db.execute(asked, (key,))), **self._unwritten.readings(key)}

    def remember(self, entry: Entry) -> None:
        """An entry that the next commit will write is known from now on."""
        self._unwritten.remember(entry)

    # Writing

    def commit(
        self,
        entries: Sequence[Entry],
        readers: Mapping[str, dict[str, Any]],
        files: Mapping[tuple[str, str], dict[str, Any] | None],
        said: tuple[str, Mapping[str, str]] = ("", {}),
    ) -> None:
        """Write entries under the next numbers, the readers' states and the files' marks, together and synced.

        said: a moment, and words for `--status` by topic.

        Raises: sqlite3.OperationalError where the disk does not take it: nothing was written, ask again.
        """
        db, n, chain = self._db, self.last, self._chain
        with transaction(db):
            for entry in entries:
                n += 1
                chain = self._write(n, entry, chain)
            for instrument, state in readers.items():
                db.execute("INSERT OR REPLACE INTO reader VALUES (?, ?)", (instrument, json.dumps(state)))
            for (instrument, path), body in files.items():
                db.execute("DELETE FROM file WHERE instrument = ? AND path = ?", (instrument, path))
                if body is not None:
                    db.execute("INSERT INTO file VALUES (?, ?, ?)", (instrument, path, json.dumps(body)))
            for topic, words in said[1].items():
                db.execute("INSERT OR REPLACE INTO said VALUES (?, ?, ?)", (topic, said[0], words))
            db.execute("UPDATE mark SET last = ?, runs = ?, chain = ?", (n, self._runs, chain))
        self.last, self._chain, self._unwritten = n, chain, Remembered()

    def _write(self, n: int, entry: Entry, chain: str) -> str:
        """The digest after it."""
        values, reading, body = entry.values, entry.kind == "reading", entry.body()
        place = (values["elapsed_s"], values["a_w"]) if reading else (None, None)
        self._db.execute("INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?)", (n, entry.run, *place, body, chain))
        if entry.kind == "start":
            row = (entry.run, entry.instrument, values.get("number", ""), entry.at)
            self._db.execute("INSERT INTO run (key, instrument, number, started_at) VALUES (?, ?, ?, ?)", row)
        elif entry.kind == "end":
            self._db.execute("UPDATE run SET ended = ? WHERE key = ?", (entry.reason, entry.run))
        return chain_after(chain, wire(n, body))

    def waiting(self) -> int:
        """How many entries the site has not acknowledged."""
        return int(self._db.execute("SELECT last - acknowledged FROM mark").fetchone()[0])

    def readers(self) -> dict[str, dict[str, Any]]:
        """The readers' states by instrument."""
        return {name: json.loads(state) for name, state in self._db.execute("SELECT * FROM reader")}

    def files(self, instrument: str) -> dict[str, dict[str, Any]]:
        """How far an instrument's files were read, by path."""
        rows = self._db.execute("SELECT path, body FROM file WHERE instrument = ?", (instrument,))
        return {path: json.loads(body) for path, body in rows}


class Outgoing:
    """The delivery's side, on a connection of its own."""

    def __init__(self, folder: Path) -> None:
        self._db = open_database(folder)
        self.key = str(self._db.execute("SELECT spool FROM mark").fetchone()[0])

    def close(self) -> None:
        """Let go of the database."""
        self._db.close()

    def marks(self) -> tuple[int, int]:
        """The newest entry's number, and the last one acknowledged."""
        row = self._db.execute("SELECT last, acknowledged FROM mark").fetchone()
        return int(row[0]), int(row[1])

    def after(self, n: int, most: int, most_bytes: int) -> list[tuple[int, str]]:
        """The entries that follow n, at most so many and so large, but at least one; all with a digest, or none."""
        rows: list[tuple[int, str]] = []
        size, chained = 0, False
        asked = "SELECT n, body, before != '' FROM entry WHERE n > ? ORDER BY n LIMIT ?"
        for row in self._db.execute(asked, (n, most)):
            size += len(row[1].encode("utf-8"))
            if rows and (size > most_bytes or chained != bool(row[2])):
                break
            chained = bool(row[2])
            rows.append((int(row[0]), str(row[1])))
        return rows

    def chain_at(self, n: int) -> str:
        """The digest after entry n, as it was written down with the entry that follows; '' where none is known."""
        row = self._db.execute("SELECT before FROM entry WHERE n = ?", (n + 1,)).fetchone()
        row = row or self._db.execute("SELECT chain FROM mark WHERE last = ?", (n,)).fetchone()
        return "" if row is None else str(row[0])

    def acknowledge(self, n: int) -> None:
        """The site holds everything up to n; what it has held for thirty days is let go."""
        now = time.time()
        with transaction(self._db):
            self._db.execute("UPDATE mark SET acknowledged = max(acknowledged, ?)", (n,))
            newest = self._db.execute("SELECT max(at) FROM delivered").fetchone()[0]
            if newest is None or not 0 <= now - newest < MARK_EVERY_S:
                self._db.execute("INSERT OR REPLACE INTO delivered VALUES (?, ?)", (n, now))
            self._let_go(now)

    def back_to(self, n: int) -> None:
        """The site holds less than it had said, as one put back from an older copy does: send again from there."""
        self._db.execute("UPDATE mark SET acknowledged = ?", (n,))

    def _let_go(self, now: float) -> None:
        old = self._db.execute("SELECT max(last) FROM delivered WHERE at < ?", (now - KEPT_S,)).fetchone()[0]
        if old is not None:
            self._db.execute(LET_GO, (old, PRUNED_AT_ONCE))
            self._db.execute("DELETE FROM delivered WHERE last < ?", (old,))

    def say(self, topic: str, at: str, words: str) -> None:
        """Leave a word for `--status`."""
        self._db.execute("INSERT OR REPLACE INTO said VALUES (?, ?, ?)", (topic, at, words))

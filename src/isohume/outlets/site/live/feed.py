"""New ledger lines, looked for once a second for all streams together."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from isohume.outlets.site.live.database import opened

LOOK_EVERY_S = 1.0
AT_ONCE = 500
WAITING_LINES = 2000

NEW_LINES = "SELECT seq, kind FROM ledger WHERE seq > ? ORDER BY seq LIMIT ?"
LAST = "SELECT coalesce(max(seq), 0) FROM ledger"


class Line(NamedTuple):
    """What a stream says about a ledger line: that it came and its kind, never of what or whom.

    All plants of an installation share the ledger, and the stream with it.
    """

    seq: int
    kind: str


class Follower:
    """One stream's place: its own lines first, then what the feed brings."""

    def __init__(self, after: int) -> None:
        self.after = after
        self.new: asyncio.Queue[list[Line]] = asyncio.Queue(WAITING_LINES)
        self.behind = False


class Feed:
    """Looks at the database and tells every follower; a follower that does not keep up is let go and comes back."""

    def __init__(self, database: Path) -> None:
        self._database = database
        self._connection: sqlite3.Connection | None = None
        self._version = -1
        self._followers: set[Follower] = set()
        self.last = 0

    @property
    def followers(self) -> frozenset[Follower]:
        """Who follows now."""
        return frozenset(self._followers)

    async def run(self) -> None:
        """Look once a second, until cancelled."""
        while True:
            self.look()
            await asyncio.sleep(LOOK_EVERY_S)

    def look(self) -> None:
        """Look once: SQLite's own counter says whether anybody wrote; only then the lines are asked for."""
        try:
            connection = self._reading()
            version = connection.execute("PRAGMA data_version").fetchone()[0]
            if version == self._version:
                return
            if self._version == -1:
                self.last = connection.execute(LAST).fetchone()[0]
            while lines := self.lines_after(self.last):
                self.last = lines[-1].seq
                self._tell(lines)
            self._version = version
        except sqlite3.Error:
            # being made, moved or busy: looked at again with a new connection in a second
            self.close()

    def lines_after(self, seq: int, most: int = AT_ONCE) -> list[Line]:
        """The next lines after a place in the ledger."""
        return [Line(*row) for row in self._reading().execute(NEW_LINES, (seq, most))]

    @contextmanager
    def followed(self, after: int | None) -> Iterator[Follower]:
        """A follower that starts after a line; None starts with what is new from now on."""
        follower = Follower(self.last if after is None else after)
        self._followers.add(follower)
        try:
            yield follower
        finally:
            self._followers.discard(follower)

    def close(self) -> None:
        """Let go of the database."""
        if self._connection is not None:
            self._connection.close()
        self._connection = None

    def _reading(self) -> sqlite3.Connection:
        if self._connection is None:
            self._connection = opened(self._database)
            # the counter belongs to a connection: what was read from another one says nothing
            self._version = -1 if self._version == -1 else -2
        return self._connection

    def _tell(self, lines: list[Line]) -> None:
        for follower in self._followers:
            try:
                follower.new.put_nowait(lines)
            except asyncio.QueueFull:
                follower.behind = True

"""The runs of every watched plant, looked at once a second in a thread; one computation for all who look."""

from __future__ import annotations

import asyncio
import logging
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from isohume.outlets.site.live.database import opened

if TYPE_CHECKING:
    from isohume.outlets.site.live.run_board import RunBoard

LOOK_EVERY_S = 1.0
SOON_S = 0.05
COMPUTE_S = 0.5  # of a look: many runs that were missed are caught up with little by little
TRY_AGAIN_S = 60.0
STILL_S = 10.0
STILL = b"event: still\ndata: {}\n\n"  # so that a page knows that it hears nothing because nothing happens
WAITING_EVENTS = 20
ANY_AGENT = "SELECT 1 FROM captures_agent LIMIT 1"


class RunFollower:
    """One stream of a plant's runs: the whole first, then what changes."""

    def __init__(self, site: int) -> None:
        self.site = site
        self.new: asyncio.Queue[bytes] = asyncio.Queue(WAITING_EVENTS)
        self.behind = False
        self.begun = False
        self.told_at = 0.0

    async def coming(self) -> bytes:
        """The next event."""
        return await self.new.get()

    def put(self, event: bytes) -> None:
        """One more event; who does not keep up is let go, comes back, and begins with the whole."""
        self.told_at = time.monotonic()
        try:
            self.new.put_nowait(event)
        except asyncio.QueueFull:
            self.behind = True


class RunFeed:
    """Computes nothing while nobody looks; what was computed is kept for whoever comes next."""

    def __init__(self, database: Path) -> None:
        self._database = database
        self._connection: sqlite3.Connection | None = None
        self._version = -1
        self._boards: dict[int, RunBoard] = {}
        self._stale: set[int] = set()  # plants whose board is older than the database
        self._uncomputed: set[int] = set()  # whose forecasts are older than its readings
        self._untold: set[int] = set()  # and whose followers were not told yet
        self._computed_with = False  # whether the forecast was ready when boards were computed last
        self._followers: set[RunFollower] = set()
        self._somebody_new = asyncio.Event()
        self._told_at = 0.0
        self.kernels = Kernels()

    @property
    def followers(self) -> frozenset[RunFollower]:
        """Who looks now."""
        return frozenset(self._followers)

    @contextmanager
    def followed(self, site: int) -> Iterator[RunFollower]:
        """A follower of one plant's runs."""
        follower = RunFollower(site)
        self._followers.add(follower)
        self.kernels.prepare()
        self._somebody_new.set()
        try:
            yield follower
        finally:
            self._followers.discard(follower)

    async def run(self) -> None:
        """Look once a second, and soon after somebody comes, until cancelled."""
        if await asyncio.to_thread(self._agents_known):
            self.kernels.prepare()
        while True:
            try:
                await self._look()
            except Exception:  # a run that cannot be told must not silence all others for good
                logging.getLogger(__name__).exception("the runs could not be told")
            with suppress(TimeoutError):
                await asyncio.wait_for(self._somebody_new.wait(), LOOK_EVERY_S)
                await asyncio.sleep(SOON_S)

    def close(self) -> None:
        """Let go of the database."""
        if self._connection is not None:
            self._connection.close()
        self._connection, self._version = None, -1

    async def _look(self) -> None:
        self._somebody_new.clear()
        followers = list(self._followers)
        if not followers:
            return
        now = time.monotonic()
        tells = now - self._told_at >= 0.9 * LOOK_EVERY_S
        new = {one.site for one in followers if not one.begun}
        sites = {one.site for one in followers} if tells else new
        try:
            found = await asyncio.to_thread(self._seen, sites, new, tells)
        except sqlite3.Error:
            # being made, moved or busy: looked at again with a new connection
            self.close()
            return
        self._told_at = now if tells else self._told_at
        for follower in followers:
            whole, news = found.get(follower.site, (None, None))
            if not follower.begun and whole is not None:
                follower.begun = True
                follower.put(whole)
            elif follower.begun and news is not None:
                follower.put(news)
            elif follower.begun and now - follower.told_at > STILL_S:
                follower.put(STILL)

    def _seen(self, sites: set[int], new: set[int], tells: bool) -> dict[int, tuple[bytes | None, bytes | None]]:
        """In a thread: the events of each plant, the whole where somebody is new, and what changed."""
        connection, ready = self._reading(), self.kernels.ready
        version = connection.execute("PRAGMA data_version").fetchone()[0]
        if version != self._version or ready != self._computed_with:
            self._stale = set(self._boards)
        self._version, self._computed_with = version, ready
        found = {}
        for site in sites:
            board = self._board(site)
            if site in self._stale:
                board.read(connection)
                self._stale.discard(site)
                self._uncomputed.add(site)
                self._untold.add(site)
            if ready and site in self._uncomputed:
                self._untold.add(site)
                if board.compute(COMPUTE_S):
                    self._uncomputed.discard(site)
            news = board.news(ready) if tells and site in self._untold else None
            if tells:
                self._untold.discard(site)
            found[site] = (board.whole(ready) if site in new else None, news)
        return found

    def _board(self, site: int) -> RunBoard:
        from isohume.outlets.site.live.run_board import RunBoard  # it loads the forecast: not before it is asked for

        if site not in self._boards:
            self._boards[site] = RunBoard(site)
            self._stale.add(site)
        return self._boards[site]

    def _reading(self) -> sqlite3.Connection:
        if self._connection is None:
            self._connection = opened(self._database)
        return self._connection

    def _agents_known(self) -> bool:
        try:
            connection = opened(self._database)
        except sqlite3.Error:
            return False
        try:
            return connection.execute(ANY_AGENT).fetchone() is not None
        except sqlite3.Error:
            return False
        finally:
            connection.close()


class Kernels:
    """The forecast's kernels: compiled or loaded once, beside the streams."""

    def __init__(self) -> None:
        self.ready = False
        self._begun = False

    def prepare(self) -> None:
        """Begin, where that was not done yet; returns at once."""
        if not self._begun:
            self._begun = True
            threading.Thread(target=self._prepare, name="kernels", daemon=True).start()

    def _prepare(self) -> None:
        from isohume.bench.reading.settling.forecast import prepare_forecast

        while not self.ready:
            try:
                prepare_forecast()
            except Exception:  # such as a full disk: the readings are told all the same, and it is tried again
                logging.getLogger(__name__).exception("the forecast could not be compiled")
                time.sleep(TRY_AGAIN_S)
            else:
                self.ready = True

"""The live process's application, plain ASGI.

GET /live/ledger?after=SEQ   server-sent events: one for each new ledger line, {seq, kind}
GET /live/runs               server-sent events: the captured runs of the reader's plant, as they grow
GET /live/health             "ok" where the database can be read
"""

from __future__ import annotations

import asyncio
import json
import sqlite3
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import parse_qs

from isohume.bench.record.tables import DATABASE
from isohume.outlets.site.live.feed import Feed, Follower, Line
from isohume.outlets.site.live.origins import own_origins
from isohume.outlets.site.live.run_feed import RunFeed
from isohume.outlets.site.live.streaming import Headers, Message, Reader, Receive, Send, SiteOf, Stream, say

HEARTBEAT_S = 15.0  # also how long a stream may outlive its session
STREAMS = ("/live/ledger", "/live/runs")


class Live:
    """The application: one feed of each kind, and as many streams as there are pages open."""

    def __init__(self, environment: Mapping[str, str], site_of: SiteOf) -> None:
        self._database = Path(environment["ISOHUME_DATA"]) / DATABASE
        self._origins = own_origins(environment)
        self._site_of = site_of
        self._feed = Feed(self._database)
        self.runs = RunFeed(self._database)
        self._looking: list[asyncio.Task[None]] = []

    @property
    def followers(self) -> frozenset[Follower]:
        """The streams of the ledger that are open now."""
        return self._feed.followers

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """One connection."""
        if scope["type"] == "lifespan":
            await self._lifespan(receive, send)
        elif scope["type"] == "http":
            await self._answer(scope, receive, send)

    async def _lifespan(self, receive: Receive, send: Send) -> None:
        while True:
            message = await receive()
            if message["type"] == "lifespan.startup":
                self._feed.look()
                self._looking = [asyncio.create_task(self._feed.run()), asyncio.create_task(self.runs.run())]
                await send({"type": "lifespan.startup.complete"})
            elif message["type"] == "lifespan.shutdown":
                for task in self._looking:
                    task.cancel()
                self._feed.close()
                self.runs.close()
                await send({"type": "lifespan.shutdown.complete"})
                return

    async def _answer(self, scope: Message, receive: Receive, send: Send) -> None:
        given = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        origin = given.get("origin")
        if origin is not None and origin not in self._origins:
            await say(send, 403, "Another site's page may not ask for this.")
            return
        allowed = _cross_origin(origin)
        if scope["path"] == "/live/health":
            await self._health(send)
        elif scope["path"] not in STREAMS:
            await say(send, 404, "There is nothing here.", allowed)
        elif scope["method"] != "GET":
            await say(send, 405, "Only reading is possible here.", [*allowed, (b"allow", b"GET")])
        else:
            await self._stream(scope, given, allowed, receive, send)

    async def _health(self, send: Send) -> None:
        try:
            self._feed.lines_after(0, 1)
        except sqlite3.Error:
            await say(send, 503, "The database cannot be read.")
        else:
            await say(send, 200, "ok")

    async def _stream(
        self, scope: Message, given: dict[str, str], allowed: Headers, receive: Receive, send: Send
    ) -> None:
        try:
            after = _place(scope["query_string"], given.get("last-event-id"))
        except ValueError:
            await say(send, 400, "after: a line's number is needed.", allowed)
            return
        reader = Reader(self._database, self._site_of, given.get("cookie", ""))
        if reader.site is None:
            await say(send, 401, "Sign in first.", allowed)
            return
        stream, finished = Stream(reader, receive, send, HEARTBEAT_S), False
        await stream.open(allowed)
        try:
            if scope["path"] == "/live/runs":
                with self.runs.followed(reader.site) as runs:
                    await stream.follow(runs)
            else:
                await self._ledger(stream, after)
            finished = True
        finally:
            await stream.close(finished)

    async def _ledger(self, stream: Stream, after: int | None) -> None:
        with self._feed.followed(after) as follower:
            while not stream.is_over and (lines := self._feed.lines_after(follower.after)):
                await stream.tell(_events(follower, lines))
            await stream.follow(_LedgerLines(follower))


class _LedgerLines:
    """A follower of the ledger, in bytes."""

    def __init__(self, follower: Follower) -> None:
        self._follower = follower

    @property
    def behind(self) -> bool:
        """Whether it did not keep up."""
        return self._follower.behind

    async def coming(self) -> bytes:
        """The lines that come next, without those it was told already."""
        return _events(self._follower, await self._follower.new.get())


def _events(follower: Follower, lines: list[Line]) -> bytes:
    """The lines after a follower's place as events; its place moves on."""
    new = [line for line in lines if line.seq > follower.after]
    if new:
        follower.after = new[-1].seq
    return b"".join(map(_event, new))


def _event(line: Line) -> bytes:
    return f"id: {line.seq}\ndata: {json.dumps(line._asdict(), ensure_ascii=True)}\n\n".encode()


def _cross_origin(origin: str | None) -> Headers:
    if origin is None:
        return []
    return [
        (b"access-control-allow-origin", origin.encode("latin-1")),
        (b"access-control-allow-credentials", b"true"),
        (b"vary", b"Origin"),
    ]


def _place(query: bytes, last_event_id: str | None) -> int | None:
    """Where to go on: where a broken stream stopped, else where the page asked for; None is from now on."""
    asked = last_event_id or next(iter(parse_qs(query.decode("latin-1")).get("after", [])), None)
    if asked is None:
        return None
    if not (asked.isascii() and asked.isdigit() and len(asked) < 16):
        raise ValueError(asked)
    return int(asked)

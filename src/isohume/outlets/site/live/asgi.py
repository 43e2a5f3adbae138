"""The live process's application, plain ASGI.

GET /live/ledger?after=SEQ   server-sent events: one for each new ledger line, {seq, kind, ref, at}
GET /live/health             "ok" where the database can be read
"""

from __future__ import annotations

import asyncio
import json
import sqlite3
from collections.abc import Awaitable, Callable, Mapping, MutableMapping
from contextlib import suppress
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

from isohume.bench.record.tables import DATABASE
from isohume.outlets.site.live.database import opened
from isohume.outlets.site.live.feed import Feed, Follower, Line
from isohume.outlets.site.live.origins import own_origins

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
SignedIn = Callable[[sqlite3.Connection, str], bool]

COOKIE = "sessionid"
HEARTBEAT_S = 15.0  # also how long a stream may outlive its session
EVENTS = b"text/event-stream; charset=utf-8"
TEXT = b"text/plain; charset=utf-8"


class Live:
    """The application: one feed, and as many streams as there are pages open."""

    def __init__(self, environment: Mapping[str, str], signed_in: SignedIn) -> None:
        self._database = Path(environment["ISOHUME_DATA"]) / DATABASE
        self._origins = own_origins(environment)
        self._signed_in = signed_in
        self._feed = Feed(self._database)
        self._looking: asyncio.Task[None] | None = None

    @property
    def followers(self) -> frozenset[Follower]:
        """The streams that are open now."""
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
                self._looking = asyncio.create_task(self._feed.run())
                await send({"type": "lifespan.startup.complete"})
            elif message["type"] == "lifespan.shutdown":
                if self._looking is not None:
                    self._looking.cancel()
                self._feed.close()
                await send({"type": "lifespan.shutdown.complete"})
                return

    async def _answer(self, scope: Message, receive: Receive, send: Send) -> None:
        given = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        origin = given.get("origin")
        if origin is not None and origin not in self._origins:
            await _say(send, 403, "Another site's page may not ask for this.")
            return
        allowed = _cross_origin(origin)
        if scope["path"] == "/live/health":
            await self._health(send)
        elif scope["path"] != "/live/ledger":
            await _say(send, 404, "There is nothing here.", allowed)
        elif scope["method"] != "GET":
            await _say(send, 405, "Only reading is possible here.", [*allowed, (b"allow", b"GET")])
        else:
            await self._ledger(scope, given, allowed, receive, send)

    async def _health(self, send: Send) -> None:
        try:
            self._feed.lines_after(0, 1)
        except sqlite3.Error:
            await _say(send, 503, "The database cannot be read.")
        else:
            await _say(send, 200, "ok")

    async def _ledger(
        self, scope: Message, given: dict[str, str], allowed: list[tuple[bytes, bytes]], receive: Receive, send: Send
    ) -> None:
        session_key = _cookie(given.get("cookie", ""))
        try:
            after = _place(scope["query_string"], given.get("last-event-id"))
        except ValueError:
            await _say(send, 400, "after: a line's number is needed.", allowed)
            return
        if not self._may_read(session_key):
            await _say(send, 401, "Sign in first.", allowed)
            return
        headers = [(b"content-type", EVENTS), (b"cache-control", b"no-store"), (b"x-accel-buffering", b"no"), *allowed]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        gone = asyncio.create_task(_disconnected(receive))
        try:
            with self._feed.followed(after) as follower:
                await self._stream(follower, session_key, gone, send)
            await send({"type": "http.response.body", "body": b"", "more_body": False})
        finally:
            gone.cancel()

    async def _stream(self, follower: Follower, session_key: str, gone: asyncio.Task[None], send: Send) -> None:
        await _send(send, b": isohume\nretry: 2000\n\n")
        while not gone.done() and (lines := self._feed.lines_after(follower.after)):
            await self._tell(follower, lines, send)
        clock = asyncio.get_running_loop().time
        ask_again = clock() + HEARTBEAT_S
        while not (gone.done() or follower.behind):
            coming = asyncio.ensure_future(follower.new.get())
            left = max(0.0, ask_again - clock())
            await asyncio.wait({coming, gone}, timeout=left, return_when=asyncio.FIRST_COMPLETED)
            if coming.done():
                await self._tell(follower, coming.result(), send)
            coming.cancel()
            if clock() >= ask_again:
                if not self._may_read(session_key):
                    return
                ask_again = clock() + HEARTBEAT_S
                await _send(send, b": still here\n\n")

    async def _tell(self, follower: Follower, lines: list[Line], send: Send) -> None:
        new = [line for line in lines if line.seq > follower.after]
        if new:
            follower.after = new[-1].seq
            await _send(send, b"".join(map(_event, new)))

    def _may_read(self, session_key: str) -> bool:
        if not session_key:
            return False
        try:
            connection = opened(self._database)
        except sqlite3.Error:
            return False
        try:
            return self._signed_in(connection, session_key)
        except sqlite3.Error:
            return False
        finally:
            connection.close()


def _event(line: Line) -> bytes:
    return f"id: {line.seq}\ndata: {json.dumps(line._asdict(), ensure_ascii=True)}\n\n".encode()


def _cross_origin(origin: str | None) -> list[tuple[bytes, bytes]]:
    if origin is None:
        return []
    return [
        (b"access-control-allow-origin", origin.encode("latin-1")),
        (b"access-control-allow-credentials", b"true"),
        (b"vary", b"Origin"),
    ]


def _cookie(header: str) -> str:
    with suppress(CookieError):
        found = SimpleCookie(header).get(COOKIE)
        return "" if found is None else found.value
    return ""


def _place(query: bytes, last_event_id: str | None) -> int | None:
    """Where to go on: where a broken stream stopped, else where the page asked for; None is from now on."""
    asked = last_event_id or next(iter(parse_qs(query.decode("latin-1")).get("after", [])), None)
    if asked is None:
        return None
    if not (asked.isascii() and asked.isdigit() and len(asked) < 16):
        raise ValueError(asked)
    return int(asked)


async def _disconnected(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


async def _send(send: Send, body: bytes) -> None:
    await send({"type": "http.response.body", "body": body, "more_body": True})


async def _say(send: Send, status: int, text: str, headers: list[tuple[bytes, bytes]] | None = None) -> None:
    all_headers = [(b"content-type", TEXT), (b"cache-control", b"no-store"), *(headers or [])]
    await send({"type": "http.response.start", "status": status, "headers": all_headers})
    await send({"type": "http.response.body", "body": text.encode()})

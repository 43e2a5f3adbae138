"""What every stream does: who may read, server-sent events with a heartbeat, an end when the session ends."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Awaitable, Callable, MutableMapping
from contextlib import suppress
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from typing import Any, Protocol

from isohume.outlets.site.live.database import opened

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
SiteOf = Callable[[sqlite3.Connection, str], int | None]
Headers = list[tuple[bytes, bytes]]

COOKIE = "sessionid"
EVENTS = b"text/event-stream; charset=utf-8"
TEXT = b"text/plain; charset=utf-8"


class Followed(Protocol):
    """What a stream tells: bytes as they come, until it has fallen behind."""

    @property
    def behind(self) -> bool:
        """Whether it did not keep up."""
        ...

    async def coming(self) -> bytes:
        """What comes next; blank where there is nothing to tell after all."""
        ...


class Reader:
    """Who reads a stream: a session, and the plant of its person."""

    def __init__(self, database: Path, site_of: SiteOf, cookies: str) -> None:
        self._database, self._site_of = database, site_of
        self._session_key = _cookie(cookies)
        self.site = self._site_now()

    def may_still_read(self) -> bool:
        """Whether the session is as it was: signed in, not locked, of the same plant."""
        return self.site is not None and self._site_now() == self.site

    def _site_now(self) -> int | None:
        if not self._session_key:
            return None
        try:
            connection = opened(self._database)
        except sqlite3.Error:
            return None
        try:
            return self._site_of(connection, self._session_key)
        except sqlite3.Error:
            return None
        finally:
            connection.close()


class Stream:
    """One connection that stays open."""

    def __init__(self, reader: Reader, receive: Receive, send: Send, heartbeat_s: float) -> None:
        self._reader, self._receive, self._send, self._heartbeat_s = reader, receive, send, heartbeat_s
        self._gone: asyncio.Task[None] | None = None

    @property
    def is_over(self) -> bool:
        """Whether the reader went away."""
        return self._gone is not None and self._gone.done()

    async def open(self, allowed: Headers) -> None:
        """Begin the answer."""
        headers = [(b"content-type", EVENTS), (b"cache-control", b"no-store"), (b"x-accel-buffering", b"no"), *allowed]
        await self._send({"type": "http.response.start", "status": 200, "headers": headers})
        self._gone = asyncio.create_task(_disconnected(self._receive))
        await self.tell(b": isohume\nretry: 2000\n\n")

    async def tell(self, body: bytes) -> None:
        """Send bytes now."""
        if body:
            await self._send({"type": "http.response.body", "body": body, "more_body": True})

    async def follow(self, followed: Followed) -> None:
        """Tell what comes, until the reader is gone, has fallen behind, or may not read any more."""
        assert self._gone is not None, "opened first"
        clock = asyncio.get_running_loop().time
        ask_again = clock() + self._heartbeat_s
        while not (self._gone.done() or followed.behind):
            coming = asyncio.ensure_future(followed.coming())
            left = max(0.0, ask_again - clock())
            await asyncio.wait({coming, self._gone}, timeout=left, return_when=asyncio.FIRST_COMPLETED)
            if coming.done():
                await self.tell(coming.result())
            coming.cancel()
            if clock() >= ask_again:
                if not self._reader.may_still_read():
                    return
                ask_again = clock() + self._heartbeat_s
                await self.tell(b": still here\n\n")

    async def close(self, finished: bool) -> None:
        """End it; only a stream that was not broken off has an end to send."""
        if self._gone is not None:
            self._gone.cancel()
        if finished:
            await self._send({"type": "http.response.body", "body": b"", "more_body": False})


async def say(send: Send, status: int, text: str, headers: Headers | None = None) -> None:
    """A plain answer."""
    all_headers = [(b"content-type", TEXT), (b"cache-control", b"no-store"), *(headers or [])]
    await send({"type": "http.response.start", "status": status, "headers": all_headers})
    await send({"type": "http.response.body", "body": text.encode()})


async def _disconnected(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


def _cookie(header: str) -> str:
    with suppress(CookieError):
        found = SimpleCookie(header).get(COOKIE)
        return "" if found is None else found.value
    return ""

"""What the tests of streams share: the application called as a server calls it, and what came back."""

from __future__ import annotations

import asyncio
import contextvars
import json
from collections.abc import Awaitable, Callable
from contextlib import asynccontextmanager
from typing import Any

from isohume.outlets.site.live.asgi import Live

COOKIE = {"cookie": "theme=dark; sessionid=of-ada"}


class Answer:
    """What came back."""

    def __init__(self) -> None:
        self.status = 0
        self.headers: dict[str, str] = {}
        self.body = b""
        self.complete = False

    async def send(self, message: Any) -> None:
        """Called by the application."""
        if message["type"] == "http.response.start":
            self.status = message["status"]
            self.headers = {name.decode(): value.decode() for name, value in message["headers"]}
        else:
            self.body += message.get("body", b"")
            self.complete = not message.get("more_body", False)

    @property
    def events(self) -> list[dict[str, Any]]:
        """The events so far; the id of a ledger line's is its number."""
        found = []
        for block in self.body.decode().split("\n\n"):
            fields = dict(line.split(": ", 1) for line in block.splitlines() if line and not line.startswith(":"))
            if "data" in fields:
                content = json.loads(fields["data"])
                assert "id" not in fields or fields["id"] == str(content["seq"])
                found.append(content)
        return found

    async def until(self, true: Callable[[Answer], object]) -> None:
        """Wait until something of the answer is true."""
        async with asyncio.timeout(20):
            while not true(self):
                await asyncio.sleep(0.01)


@asynccontextmanager
async def running(app: Live) -> Any:
    """The application between start and stop; gives `ask(path, headers)`, which starts a request."""
    messages: asyncio.Queue[Any] = asyncio.Queue()
    said: list[str] = []

    async def note(message: Any) -> None:
        said.append(message["type"])

    life = asyncio.create_task(app({"type": "lifespan"}, messages.get, note))
    messages.put_nowait({"type": "lifespan.startup"})
    asked: list[asyncio.Task[None]] = []

    def ask(path: str, headers: dict[str, str] | None = None, method: str = "GET") -> tuple[Answer, asyncio.Event]:
        place, _, query = path.partition("?")
        gone, answer = asyncio.Event(), Answer()
        first = [{"type": "http.request", "body": b"", "more_body": False}]

        async def receive() -> Any:
            if first:
                return first.pop()
            await gone.wait()
            return {"type": "http.disconnect"}

        given = [(name.encode(), value.encode()) for name, value in (headers or {}).items()]
        scope = {"type": "http", "method": method, "path": place, "query_string": query.encode(), "headers": given}
        asked.append(asyncio.create_task(app(scope, receive, answer.send)))
        return answer, gone

    try:
        async with asyncio.timeout(30):
            yield ask
    finally:
        for task in asked:
            task.cancel()
        await asyncio.gather(*asked, return_exceptions=True)
        messages.put_nowait({"type": "lifespan.shutdown"})
        await life
        assert said == ["lifespan.startup.complete", "lifespan.shutdown.complete"]


def play(story: Callable[[], Awaitable[None]]) -> None:
    """Run a test's story in a context of its own.

    A browser's driver that ran in this thread before leaves its database connection, to another test's file, in the
    thread's context.
    """
    contextvars.Context().run(asyncio.run, story())  # type: ignore[arg-type]

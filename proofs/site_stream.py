"""A live stream as a page follows it: on a break it comes back with the last id it saw."""

from __future__ import annotations

import http.client
import json
import threading
from collections.abc import Callable
from contextlib import closing, suppress
from urllib.parse import urlsplit

BACK_AFTER_S = 0.3
SILENCE_S = 25.0  # longer than the stream's heartbeat: only a kill breaks it


class Stream:
    """Follows the ledger from its first line in a thread of its own; `seen` is every line's number as it came."""

    def __init__(self, address: Callable[[], str], cookies: Callable[[], dict[str, str]]) -> None:
        self._address, self._cookies = address, cookies
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._follow, daemon=True)
        self.seen: list[int] = []
        self.opened = 0

    def start(self) -> None:
        """Begin to follow."""
        self._thread.start()

    def stop(self) -> None:
        """Stop following."""
        self._stopped.set()
        self._thread.join(SILENCE_S)

    def _follow(self) -> None:
        while not self._stopped.is_set():
            with suppress(OSError, http.client.HTTPException, ValueError):
                self._once()
            self._stopped.wait(BACK_AFTER_S)

    def _once(self) -> None:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self._cookies().items())}
        if self.seen:
            headers["Last-Event-ID"] = str(self.seen[-1])
        with closing(http.client.HTTPConnection(urlsplit(self._address()).netloc, timeout=SILENCE_S)) as connection:
            connection.request("GET", "/live/ledger?after=0", headers=headers)
            answer = connection.getresponse()
            if answer.status != 200:
                return
            self.opened += 1
            while not self._stopped.is_set() and (line := answer.readline()):
                # an event counts once its whole line came: half of one, cut by a kill, comes again
                if line.startswith(b"data: ") and line.endswith(b"\n"):
                    self.seen.append(int(json.loads(line[6:])["seq"]))

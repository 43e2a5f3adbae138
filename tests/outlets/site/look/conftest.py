"""The gallery served as the site would serve it, with its content-security policy, to the real browser."""

from __future__ import annotations

import mimetypes
import sys
import threading
from collections.abc import Iterator
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, ClassVar

import django_htmx
import pytest
from playwright.sync_api import Browser, sync_playwright

sys.path.insert(0, str(Path(__file__).parent))
import look_gallery as pages

POLICY = "default-src 'self'; img-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'"
STATIC = (pages.LOOK / "static", pages.LOOK.parent / "outbox" / "static", Path(django_htmx.__file__).parent / "static")


class Handler(BaseHTTPRequestHandler):
    """Answers with the gallery, the lock page, or a static file; keeps what was posted."""

    asked: ClassVar[list[tuple[str, str, str]]] = []
    shown: ClassVar[dict[str, str]] = {}

    def do_GET(self) -> None:
        """A page or a file."""
        Handler.asked.append(("GET", self.path, ""))
        path = self.path.partition("?")[0]
        if path.startswith("/static/"):
            file = next((f for root in STATIC if (f := root / path.removeprefix("/static/")).is_file()), None)
            self._send(404 if file is None else 200, file.read_bytes() if file else b"", mimetypes.guess_type(path)[0])
        elif path == "/outbox-worker.js":
            self._send(200, b"", "text/javascript")
        else:
            self._send(200, Handler.shown.get(path, Handler.shown["/"]).encode(), "text/html; charset=utf-8")

    def do_HEAD(self) -> None:
        """Being seen."""
        Handler.asked.append(("HEAD", self.path, ""))
        self._send(200, b"", "text/html")

    def do_POST(self) -> None:
        """A form."""
        body = self.rfile.read(int(self.headers["Content-Length"])).decode()
        Handler.asked.append(("POST", self.path, body))
        self._send(200, b"<!doctype html><html lang=en><title>done</title><p>done", "text/html; charset=utf-8")

    def _send(self, status: int, body: bytes, kind: str | None) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind or "application/octet-stream")
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Content-Security-Policy", POLICY)
        self.end_headers()
        if self.command != "HEAD":
            with suppress(ConnectionError):  # the browser went on to another page
                self.wfile.write(body)

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002
        """Quiet."""


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """Where the gallery is served."""
    Handler.shown = {
        "/": pages.gallery(),
        "/desk/": pages.gallery("desk"),
        "/lock-page/": pages.lock(),
        "/live-page/": pages.gallery(live_origin="https://live.test"),
    }
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_address[1]}"
    server.shutdown()
    server.server_close()


@pytest.fixture
def asked() -> list[tuple[str, str, str]]:
    """What the browser asked for since the test began."""
    Handler.asked.clear()
    return Handler.asked


@pytest.fixture(scope="module")  # only one may be driven at a time in a process
def chromium() -> Iterator[Browser]:
    """The system's Chromium; as root it runs without its sandbox."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        yield browser
        browser.close()

"""A site of the tests: takes an agent's entries exactly as the contract says, and nothing else.

    python -m proofs.capture_site DATABASE PORT TOKEN

Standard library only, so that it starts quickly after each kill. What it took in is in its SQLite table `taken`.
"""

from __future__ import annotations

import json
import sqlite3
import sys
import threading
from collections.abc import Callable
from contextlib import closing
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

TABLES = """
CREATE TABLE IF NOT EXISTS spool (key TEXT PRIMARY KEY, last INTEGER NOT NULL);
CREATE TABLE IF NOT EXISTS taken (spool TEXT NOT NULL, n INTEGER NOT NULL, entry TEXT NOT NULL, PRIMARY KEY (spool, n));
"""
KINDS = ("start", "reading", "end", "state", "unread")
Refusal = Callable[[dict[str, Any]], dict[str, Any] | None]


def open_database(path: Path) -> sqlite3.Connection:
    """The database of what was taken in."""
    db = sqlite3.connect(path, timeout=30, isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.executescript(TABLES)
    return db


class SiteServer(ThreadingHTTPServer):
    """The site; `refuse` may name what is wrong with an entry."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self, database: Path, port: int, token: str, refuse: Refusal = lambda entry: None) -> None:
        self.database, self.token, self.refuse = database, token, refuse
        self.lock, self.requests = threading.Lock(), 0
        super().__init__(("127.0.0.1", port), Handler)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """An agent killed while it was answered is what this site is for."""

    @property
    def address(self) -> str:
        """Where it is."""
        return f"http://127.0.0.1:{self.server_address[1]}"

    def take(self, body: dict[str, Any]) -> tuple[int, dict[str, Any]]:
        """The answer to a request: everything of it is taken in, or nothing."""
        with self.lock, closing(open_database(self.database)) as db:
            spool, entries = str(body["spool"]), body["entries"]
            db.execute("BEGIN IMMEDIATE")
            row = db.execute("SELECT last FROM spool WHERE key = ?", (spool,)).fetchone()
            last = row[0] if row else 0
            fresh = [entry for entry in entries if entry["n"] > last]
            if fresh and fresh[0]["n"] != last + 1:
                db.execute("ROLLBACK")
                return 409, {"last": last, "error": f"entry {fresh[0]['n']} came, and {last + 1} is the next one"}
            for entry in fresh:
                wrong = self.refuse(entry)
                if wrong is not None:
                    db.execute("ROLLBACK")
                    return 422, {"n": entry["n"], **wrong}
                assert entry["kind"] in KINDS
                assert entry["n"] == last + 1
                last = entry["n"]
                db.execute("INSERT INTO taken VALUES (?, ?, ?)", (spool, last, json.dumps(entry)))
            db.execute("INSERT OR REPLACE INTO spool VALUES (?, ?)", (spool, last))
            db.execute("COMMIT")
            return 200, {"spool": spool, "last": last}


class Handler(BaseHTTPRequestHandler):
    """Requests."""

    server: SiteServer
    protocol_version = "HTTP/1.1"

    def do_POST(self) -> None:
        """Entries in."""
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.requests += 1
        if not self._known():
            return
        content = json.loads(body)
        numbers = [entry["n"] for entry in content["entries"]]
        assert self.headers["Idempotency-Key"] == f"{content['spool']}:{numbers[0]}-{numbers[-1]}"
        assert len(numbers) <= 2000
        self._answer(*self.server.take(content))

    def do_GET(self) -> None:
        """How far a spool was taken in."""
        if self._known():
            spool = parse_qs(urlsplit(self.path).query)["spool"][0]
            with closing(open_database(self.server.database)) as db:
                row = db.execute("SELECT last FROM spool WHERE key = ?", (spool,)).fetchone()
            self._answer(200, {"last": row[0] if row else 0})

    def _known(self) -> bool:
        known = self.headers["Authorization"] == f"Bearer {self.server.token}"
        if not known:
            self._answer(401, {"error": "not known here"})
        return known

    def _answer(self, status: int, content: dict[str, Any]) -> None:
        text = json.dumps(content).encode()
        self.send_response(status)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(text)))
        self.end_headers()
        self.wfile.write(text)

    def log_message(self, *words: Any) -> None:
        """Nothing: the agent's token must not be in a log."""


def taken(database: Path) -> list[dict[str, Any]]:
    """Everything that was taken in, in its order."""
    with closing(open_database(database)) as db:
        return [json.loads(row[0]) for row in db.execute("SELECT entry FROM taken ORDER BY spool, n")]


def main() -> None:
    """Serve until killed."""
    database, port, token = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    server = SiteServer(database, port, token)
    print(server.address, flush=True)
    server.serve_forever()


if __name__ == "__main__":
    main()

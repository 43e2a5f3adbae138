"""The site as a process from outside: started as a person starts it, its parts found, killed, waited for."""

from __future__ import annotations

import http.client
import json
import os
import signal
import subprocess
import time
from contextlib import closing, suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

UP_WITHIN_S = 60.0
GONE_WITHIN_S = 10.0
PARTS = {"isohume.outlets.serve.web": "web", "proofs.site_two_commits": "web"} | {
    "isohume.outlets.site.live.server": "live",
    "isohume.outlets.site.work.worker": "worker",
}


class SiteProcess:
    """One data folder served, started again by `start` after the supervisor was killed."""

    def __init__(self, command: list[str], folder: Path, *options: str) -> None:
        self._command, self._folder, self._options = command, folder, options
        self._port = 0
        self.process: subprocess.Popen[str] | None = None
        self.said: dict[str, Any] = {}

    @property
    def address(self) -> str:
        """Where the pages are."""
        return str(self.said["address"])

    @property
    def live(self) -> str:
        """Where the live streams are."""
        return str(self.said["live"])

    def start(self) -> float:
        """Start it and wait until its first page has answered; returns the seconds that took."""
        begun = time.perf_counter()
        words = [*self._command, "--data", str(self._folder), "--port", str(self._port), "--json", *self._options]
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        if not line:
            raise SystemExit(f"the site did not start, exit status {self.process.wait()}")
        self.said = json.loads(line)
        self._port = urlsplit(self.address).port or 0
        return time.perf_counter() - begun

    def parts(self) -> dict[str, int]:
        """The processes by name: supervisor, web, the web's inner process, live, worker; those that are there."""
        if self.process is None or self.process.poll() is not None:
            return {}
        found = {"supervisor": self.process.pid}
        for pid in _children(self.process.pid):
            words = _words(pid)
            name = PARTS.get(words[words.index("-m") + 1]) if "-m" in words else None
            if name is not None:
                found[name] = pid
                for inner in _children(pid) if name == "web" else ():
                    if any("spawn_main" in word for word in _words(inner)):
                        found["web, its inner process"] = inner
        return found

    def everything(self) -> list[int]:
        """All its processes."""
        return [] if self.process is None else [self.process.pid, *_below(self.process.pid)]

    def is_up(self) -> bool:
        """Whether the pages, the streams and the worker are there."""
        parts = self.parts()
        return len(parts) == 5 and _answers(self.address, "/sign-in/") and _answers(self.live, "/live/health")

    def wait_until_up(self) -> float:
        """Wait for all parts; returns the seconds that took."""
        begun = time.perf_counter()
        while not self.is_up():
            if time.perf_counter() - begun > UP_WITHIN_S:
                raise SystemExit(f"the site did not come back within {UP_WITHIN_S:.0f} s; there are {self.parts()}")
            time.sleep(0.1)
        return time.perf_counter() - begun

    def kill_supervisor(self) -> tuple[list[int], float]:
        """SIGKILL; returns what still runs when patience ends, and after how many seconds nothing did."""
        assert self.process is not None
        all_of_it, begun = self.everything(), time.perf_counter()
        self.process.kill()
        self.process.wait()
        while (left := [pid for pid in all_of_it if _is_alive(pid)]) and time.perf_counter() - begun < GONE_WITHIN_S:
            time.sleep(0.02)
        return left, time.perf_counter() - begun

    def stop(self) -> int:
        """SIGTERM; returns the exit status."""
        assert self.process is not None
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(30)


def kill(pid: int) -> None:
    """SIGKILL to a process that may be gone already."""
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)


def _answers(address: str, path: str) -> bool:
    try:
        with closing(http.client.HTTPConnection(urlsplit(address).netloc, timeout=10)) as connection:
            connection.request("GET", path)
            return connection.getresponse().status == 200
    except (OSError, http.client.HTTPException):
        return False


def _children(pid: int) -> list[int]:
    found: list[int] = []
    with suppress(FileNotFoundError, ProcessLookupError):
        for task in Path(f"/proc/{pid}/task").iterdir():
            with suppress(FileNotFoundError, ProcessLookupError):
                found += map(int, (task / "children").read_text().split())
    return found


def _below(pid: int) -> list[int]:
    return [found for child in _children(pid) for found in (child, *_below(child))]


def _words(pid: int) -> list[str]:
    with suppress(FileNotFoundError, ProcessLookupError):
        return Path(f"/proc/{pid}/cmdline").read_bytes().decode("utf-8", "replace").split("\0")
    return []


def _is_alive(pid: int) -> bool:
    with suppress(FileNotFoundError, ProcessLookupError):
        return Path(f"/proc/{pid}/stat").read_bytes().rpartition(b") ")[2][:1] not in b"ZX"
    return False

"""The whole site as a person starts it: it comes up, comes back, keeps to itself, and leaves nothing running."""

from __future__ import annotations

import http.client
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from isohume.bench.record.verification import verify

Until = Callable[[Callable[[], bool], str], None]
Alive = Callable[[int], bool]
COMMAND = (sys.executable, "-c", "from isohume.outlets.cli.main import run; run()", "serve")


def status_of(address: str, path: str = "/") -> int:
    """The status of an answer; 0 where there is none."""
    try:
        with closing(http.client.HTTPConnection(urlsplit(address).netloc, timeout=10)) as connection:
            connection.request("GET", path)
            return connection.getresponse().status
    except (OSError, http.client.HTTPException):
        return 0


def parts_of(pid: int) -> dict[str, int]:
    """The processes a supervisor started, by what they are."""
    found = {}
    for place in Path("/proc").glob("[0-9]*"):
        try:
            parent = int((place / "stat").read_text().rpartition(") ")[2].split()[1])
            words = (place / "cmdline").read_bytes().decode().split("\0")
        except (FileNotFoundError, ProcessLookupError):
            continue
        if parent == pid and "-m" in words:
            found[words[words.index("-m") + 1].split(".")[-1]] = int(place.name)
    return found


def everything_below(pid: int) -> list[int]:
    """All processes that descend from one."""
    below = [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    return [found for one in below for found in (one, *everything_below(one))]


class Running:
    """A site in a folder of its own."""

    def __init__(self, folder: Path, port: int = 0) -> None:
        self.folder = folder
        words = (*COMMAND, "--data", str(folder), "--port", str(port), "--json")
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        assert self.process.stdout
        said = self.process.stdout.readline()
        assert said, self.process.communicate()[1]
        self.said: dict[str, Any] = json.loads(said)
        self.address, self.live = self.said["address"], self.said["live"]

    def end(self, number: signal.Signals) -> int:
        """End it by a signal; returns its exit status."""
        self.process.send_signal(number)
        out, err = self.process.communicate(timeout=60)
        assert (out, err) == ("", "")
        return self.process.returncode


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Running]:
    """A running site."""
    running = Running(tmp_path / "my-plant")
    yield running
    if running.process.poll() is None:
        running.end(signal.SIGTERM)


def test_each_process_comes_back_and_stopping_stops_all(site: Running, until: Until, is_alive: Alive) -> None:
    assert status_of(site.address) in (200, 302)
    assert status_of(site.live, "/live/health") == 200
    assert status_of(site.live, "/live/ledger?after=0") == 401
    before = parts_of(site.process.pid)
    assert set(before) == {"web", "server", "worker"}
    for pid in before.values():
        os.kill(pid, signal.SIGKILL)
    until(lambda: set(parts_of(site.process.pid)) == set(before), "all three again")
    assert not set(parts_of(site.process.pid).values()) & set(before.values())
    until(lambda: status_of(site.address) in (200, 302), "the pages again")
    until(lambda: status_of(site.live, "/live/health") == 200, "the live streams again")
    below = everything_below(site.process.pid)
    assert len(below) >= 4
    assert site.end(signal.SIGTERM) == 0
    until(lambda: not any(map(is_alive, below)), "the end of all")


def test_after_a_kill_nothing_runs_and_it_starts_again_on_the_same_port(
    site: Running, until: Until, is_alive: Alive
) -> None:
    below, port = everything_below(site.process.pid), urlsplit(site.address).port
    assert port
    assert site.end(signal.SIGKILL) == -signal.SIGKILL
    again = Running(site.folder, port)
    assert again.address == site.address
    assert not any(map(is_alive, below))
    assert again.said["setup_link"].startswith(f"{site.address}set-up/")
    assert again.said["setup_link"] != site.said["setup_link"], "only its digest was kept"
    assert again.end(signal.SIGINT) == 0
    assert verify(site.folder).verified


def test_it_keeps_folder_and_secrets_to_itself(site: Running) -> None:
    words = (*COMMAND, "--data", str(site.folder), "--port", "0")
    done = subprocess.run(words, capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert "a folder no other isohume serves" in done.stderr
    token = site.said["setup_link"].rstrip("/").rpartition("/")[2]
    assert status_of(site.address, f"/set-up/{token}/") == 200
    assert status_of(site.address, f"/set-up/{token}x/") in (404, 410)
    site.end(signal.SIGTERM)
    secrets = (token, (site.folder / "secret.key").read_text().strip())
    logs = sorted((site.folder / "log").iterdir())
    assert len(logs) == 4
    for log in logs:
        text = log.read_text(encoding="utf-8")
        assert not [secret for secret in secrets if secret in text]
    assert (site.folder / "secret.key").stat().st_mode & 0o077 == 0

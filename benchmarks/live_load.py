"""Captured runs under load: 50 instruments at 1 Hz, 100 idle viewers of the live stream, and people's pages meanwhile.

    python -m benchmarks.live_load [--seconds 180] [--folder DIR]

The site runs as it is served, on SQLite, with the demonstration plant in it. Five agents bring the readings of ten
instruments each, once a second, as `isohume capture` posts them; a run lasts a minute, then the next one begins, so
that ends, evidence and ledger lines are part of it. Viewers hold a stream open and read what comes. Every reading that
was sent is looked for afterwards, digit for digit.
"""

from __future__ import annotations

import argparse
import http.client
import json
import math
import os
import selectors
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from proofs.site_browser import Browser

AGENTS, INSTRUMENTS_EACH, VIEWERS, RUN_S = 5, 10, 100, 60
PAGES = ("/", "/live/", "/accounting/", "/lots/", "/shift/")
THOUGHT_S = 0.5
ISOHUME = (sys.executable, "-c", "from isohume.outlets.cli.main import run; run()")
REGISTER = """
import json, sys, django
django.setup()
from datetime import UTC, datetime
from isohume.outlets.site.captures.actions.register_agent import RegisterAgent
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Instrument
agents, each = map(int, sys.argv[1:])
manager = Person.objects.get(username="mfarrow")
tokens = [perform(RegisterAgent(manager.site, f"Load {n}"), By(manager, datetime.now(UTC)))[1] for n in range(agents)]
for n in range(agents * each):
    Instrument.objects.create(site=manager.site, name=f"LOAD-{n}", serial=f"L{n}", principle="dew-point measurement")
print(json.dumps(tokens))
"""
COUNT = """
import json, sys, django
django.setup()
from isohume.outlets.site.captures.kept import samples_of
from isohume.outlets.site.captures.models import CapturedRun
found = {}
for run in CapturedRun.objects.filter(instrument__name__startswith="LOAD-").select_related("spool"):
    found[f"{run.spool.key}:{run.key}"] = [[f"{one.elapsed_s:f}", f"{one.a_w:f}"] for one in samples_of(run)]
print(json.dumps(found))
"""


@dataclass
class Load:
    """One agent: what it sent, how long each answer took, and what went wrong."""

    address: str
    token: str
    place: int
    spool: str
    n: int = 0
    sent: dict[str, list[list[str]]] = field(default_factory=dict)
    seconds: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def run(self, begin: float, until: float) -> None:
        """Once a second, all instruments of this computer in one request."""
        connection = http.client.HTTPConnection(urlsplit(self.address).netloc, timeout=30)
        for second in range(10**6):
            at = begin + second + 0.2 * self.place
            if at > until:
                break
            time.sleep(max(0.0, at - time.monotonic()))
            last = at + 1 > until
            self._post(connection, self._entries(second, ends=last))
        connection.close()

    def _entries(self, second: int, *, ends: bool) -> list[dict[str, Any]]:
        out: list[dict[str, Any]] = []
        now = datetime.now(UTC).isoformat(timespec="milliseconds")
        turn, elapsed = divmod(second, RUN_S)
        for one in range(INSTRUMENTS_EACH):
            number = self.place * INSTRUMENTS_EACH + one
            about = {"instrument": f"LOAD-{number}", "run": f"{number}-{turn}", "at": now}
            if elapsed == 0:
                out.append({"kind": "start", **about, "number": f"{turn + 1:04d}"})
            a_w = f"{0.65 - 0.2 * math.exp(-elapsed / 20) + 0.0001 * ((number * 7 + elapsed) % 5):.4f}"
            warm = {"sample_temperature_c": "24.9", "block_temperature_c": "25.0", "state": "measuring"}
            out.append({"kind": "reading", **about, "elapsed_s": f"{elapsed}.0", "a_w": a_w, **warm})
            self.sent.setdefault(f"{self.spool}:{about['run']}", []).append([f"{elapsed}.0", a_w])
            if ends or elapsed == RUN_S - 1:
                out.append({"kind": "end", **about, "reason": "end line"})
        return [{"n": self.n + i, **entry} for i, entry in enumerate(out, 1)]

    def _post(self, connection: http.client.HTTPConnection, entries: list[dict[str, Any]]) -> None:
        now = datetime.now(UTC).isoformat(timespec="milliseconds")
        body = json.dumps({"spool": self.spool, "now": now, "waiting": 0, "entries": entries})
        headers = {
            "Authorization": f"Bearer {self.token}",
            "Idempotency-Key": f"{self.spool}:{self.n + 1}-{self.n + len(entries)}",
            "Content-Type": "application/json",
        }
        begun = time.perf_counter()
        connection.request("POST", "/api/v1/captured", body, headers)
        answer = connection.getresponse()
        said = answer.read()
        self.seconds.append(time.perf_counter() - begun)
        self.n += len(entries)
        if answer.status != 200:
            self.errors.append(f"{answer.status}: {said[:200]!r}")


@dataclass
class Viewers:
    """Streams that are held open; nothing is asked of them but that they stay."""

    live: str
    cookie: str
    bytes_read: int = 0
    closed: int = 0

    def watch(self, count: int, until: float) -> None:
        """All of them in one thread, which reads what comes."""
        where = urlsplit(self.live)
        asked = f"GET /live/runs HTTP/1.1\r\nHost: {where.netloc}\r\nCookie: sessionid={self.cookie}\r\n\r\n"
        with selectors.DefaultSelector() as waiting:
            for _ in range(count):
                one = socket.create_connection((where.hostname, where.port), timeout=30)
                one.sendall(asked.encode())
                one.setblocking(False)
                waiting.register(one, selectors.EVENT_READ)
            while time.monotonic() < until:
                for key, _ in waiting.select(timeout=0.5):
                    self._read(waiting, key.fileobj)
            for key in list(waiting.get_map().values()):
                key.fileobj.close()  # type: ignore[union-attr]

    def _read(self, waiting: Any, one: Any) -> None:
        found = one.recv(1 << 16)
        self.bytes_read += len(found)
        if not found:
            self.closed += 1
            waiting.unregister(one)
            one.close()


def look(browser: Browser, until: float, seconds: dict[str, list[float]], errors: list[str]) -> None:
    """Somebody opens one page after the other."""
    turn = 0
    while time.monotonic() < until:
        path = PAGES[turn % len(PAGES)]
        begun = time.perf_counter()
        status = browser.get(path).status
        seconds.setdefault(path, []).append(time.perf_counter() - begun)
        if status != 200:
            errors.append(f"{status} at {path}")
        turn += 1
        time.sleep(THOUGHT_S)


@contextmanager
def served(folder: Path) -> Iterator[dict[str, Any]]:
    """The site as a person serves it."""
    command = (*ISOHUME, "serve", "--data", str(folder), "--port", "0", "--json")
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as site:
        assert site.stdout is not None
        try:
            yield json.loads(site.stdout.readline())
        finally:
            site.terminate()


def inside(folder: Path, program: str, *words: str) -> Any:
    """A program that uses the site's own tables."""
    told = {"ISOHUME_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "isohume.outlets.site.config.settings"}
    done = subprocess.run(
        [sys.executable, "-c", program, *words], env={**os.environ, **told}, capture_output=True, text=True, check=True
    )
    return json.loads(done.stdout)


def measure(folder: Path, seconds: float) -> None:
    """Load it, then look for every reading."""
    password = (folder / "demo-sign-in.txt").read_text(encoding="utf-8").rpartition("password of all: ")[2].strip()
    tokens = inside(folder, REGISTER, str(AGENTS), str(INSTRUMENTS_EACH))
    pages: dict[str, list[float]] = {}
    errors: list[str] = []
    with served(folder) as said:
        browser = Browser(said["address"])
        browser.sign_in("mfarrow", password)
        loads = [
            Load(said["address"], token, n, f"{n:08x}" + f"{time.time_ns():024x}") for n, token in enumerate(tokens)
        ]
        viewers = Viewers(said["live"], browser.cookies["sessionid"])
        begin = time.monotonic() + 2
        until = begin + seconds
        threads = [threading.Thread(target=one.run, args=(begin, until)) for one in loads]
        threads.append(threading.Thread(target=viewers.watch, args=(VIEWERS, until + 1)))
        threads.append(threading.Thread(target=look, args=(browser, until, pages, errors)))
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    report(loads, viewers, pages, errors, inside(folder, COUNT), seconds)


def report(
    loads: list[Load], viewers: Viewers, pages: dict[str, list[float]], errors: list[str], kept: Any, seconds: float
) -> None:
    """What was lost, and how long people waited."""
    sent = {key: rows for one in loads for key, rows in one.sent.items()}
    readings = sum(map(len, sent.values()))
    found = sum(len(rows) for rows in kept.values())
    same = sum(rows == kept.get(key) for key, rows in sent.items())
    posts = [one for load in loads for one in load.seconds]
    looked = [one for found in pages.values() for one in found]
    errors = [*errors, *(error for load in loads for error in load.errors)]
    print(f"{os.cpu_count()} cores, which the load's own program shares; {seconds:.0f} s.\n")
    print("| what | count | median | 95 % within | longest |\n|---|---|---|---|---|")
    rows = {"posts of ten readings": posts, "pages": looked, **{f"`{path}`": times for path, times in pages.items()}}
    for what, times in rows.items():
        cuts = statistics.quantiles(times, n=100) if len(times) > 1 else [math.nan] * 99
        shown = " | ".join(f"{1e3 * one:.0f} ms" for one in (cuts[49], cuts[94], max(times)))
        print(f"| {what} | {len(times)} | {shown} |")
    print(f"\n- readings sent {readings}, kept {found}: lost {readings - found}; runs alike {same} of {len(sent)}")
    print(f"- viewers {VIEWERS}, streams that broke {viewers.closed}, read {viewers.bytes_read / 1e6:.1f} MB")
    print(f"- errors {len(errors)}" + "".join(f"\n  - {error}" for error in errors[:5]))


def main() -> None:
    """As it is asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--folder", type=Path, default=None, help="a folder with the demonstration plant, or a new one")
    parser.add_argument("--seconds", type=float, default=180.0)
    given = parser.parse_args(sys.argv[1:] if __name__ == "__main__" else [])
    with tempfile.TemporaryDirectory() as place:
        folder = given.folder or Path(place) / "plant"
        make = [*ISOHUME, "serve", "--demo", "--data", str(folder), "--port", "0", "--until-ready"]
        subprocess.run(make, check=True, stdout=subprocess.DEVNULL)
        measure(folder, given.seconds)


if __name__ == "__main__":
    main()

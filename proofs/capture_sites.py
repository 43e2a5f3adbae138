"""The two sites that a killed agent of the proof brings its runs to: the stand-in, and the installed one."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, Protocol

from proofs.capture_day import FOLDER, LINE, RunGiven
from proofs.capture_site import taken
from proofs.site_process import SiteProcess, kill

TOKEN = "a-token-of-the-proof-0123456789"
NAMES = ("elapsed_s", "a_w", "sample_temperature_c", "block_temperature_c", "room_humidity", "state")
SERVE = [sys.executable, "-c", "from isohume.outlets.cli.main import run; run()", "serve"]
IN_THE_SITE = """
import json, sys
from pathlib import Path
from isohume.bench.record.store import open_store
open_store(Path(sys.argv[1])).close()
import django
django.setup()
"""
MAKE = """
from datetime import UTC, datetime
from django.core.management import call_command
call_command("migrate", run_syncdb=True, verbosity=0, interactive=False)
from isohume.outlets.demo.plant_a import make
make(Path(sys.argv[1]), datetime.now(UTC), days=10)
print("null")
"""
REGISTER = """
from datetime import UTC, datetime
from isohume.outlets.site.captures.actions.register_agent import RegisterAgent
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
manager = Person.objects.get(username="mfarrow")
done = perform(RegisterAgent(manager.site, "Proof bench"), By(manager, datetime.now(UTC)))
print(json.dumps(done[1] if isinstance(done, tuple) else done.result[1]))
"""
HELD = """
from isohume.outlets.site.captures.kept import samples_of
from isohume.outlets.site.captures.models import CapturedRun
told = []
for run in CapturedRun.objects.filter(agent__name="Proof bench").select_related("instrument").order_by("pk"):
    rows = [["" if v is None else v if isinstance(v, str) else f"{v:f}" for v in one] for one in samples_of(run)]
    told.append([run.instrument.name, run.number, rows, run.end_reason, run.repeats])
print(json.dumps(told))
"""


class Site(Protocol):
    """What the harness asks of a site."""

    address: str
    token: str
    kinds: tuple[str, ...]

    def kill(self, kind: str) -> None:
        """SIGKILL to one of its processes."""

    def is_up(self) -> bool:
        """Whether it answers."""

    def look_after(self) -> None:
        """Start again what does not come back by itself."""

    def delivered(self) -> tuple[dict[str, list[RunGiven]], int]:
        """The runs that it holds by instrument, and how many readings it was brought twice."""

    def close(self) -> None:
        """Stop it."""


class StandIn:
    """The standard library's server with the contract's rules; started again at once."""

    kinds = ("site",)

    def __init__(self, folder: Path) -> None:
        self._database, self.token = folder / "stand-in.sqlite3", TOKEN
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self._port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self._port}"
        self._process = self._started()

    def _started(self) -> subprocess.Popen[str]:
        words = [sys.executable, "-m", "proofs.capture_site", str(self._database), str(self._port), self.token]
        return subprocess.Popen(words, stdout=subprocess.PIPE, text=True)

    def kill(self, kind: str) -> None:
        """At once."""
        self._process.kill()
        self._process.wait()

    def is_up(self) -> bool:
        """Whether its port answers."""
        with socket.socket() as asked:
            return asked.connect_ex(("127.0.0.1", self._port)) == 0

    def look_after(self) -> None:
        """Start it where it is dead."""
        if self._process.poll() is not None:
            self._process = self._started()

    def delivered(self) -> tuple[dict[str, list[RunGiven]], int]:
        """From its table."""
        return runs_of(taken(self._database)), 0

    def close(self) -> None:
        """Kill it."""
        self._process.kill()
        self._process.wait()


def runs_of(entries: list[dict[str, Any]]) -> dict[str, list[RunGiven]]:
    """Entries to runs by instrument, in the order of their starts."""
    rows: dict[str, list[tuple[str, ...]]] = {}
    heads: dict[str, tuple[str, str]] = {}
    ends: dict[str, str] = {}
    for entry in entries:
        if entry["kind"] == "start":
            heads[entry["run"]], rows[entry["run"]] = (entry["instrument"], entry.get("number", "")), []
        elif entry["kind"] == "reading":
            rows[entry["run"]].append(tuple(entry.get(name, "") for name in NAMES))
        elif entry["kind"] == "end":
            before = f"{ends[entry['run']]} and " if entry["run"] in ends else ""
            ends[entry["run"]] = before + entry["reason"]
    found: dict[str, list[RunGiven]] = {LINE: [], FOLDER: []}
    for key, (instrument, number) in heads.items():
        found[instrument].append(RunGiven(number, tuple(rows[key]), ends.get(key, "not ended")))
    return found


class Installed:
    """`isohume serve` on a demonstration plant: pages' server, its inner process, or the supervisor is killed."""

    kinds = ("web", "web, its inner process", "supervisor")

    def __init__(self, plant: Path) -> None:
        self._plant = plant
        self.token = str(in_the_site(plant, REGISTER))
        self._site = SiteProcess(SERVE, plant)
        self._site.start()
        self._site.wait_until_up()
        self.address = self._site.address.rstrip("/")

    def kill(self, kind: str) -> None:
        """As it comes; the supervisor takes the others with it."""
        if kind == "supervisor":
            self._site.kill_supervisor()
        elif (pid := self._site.parts().get(kind)) is not None:
            kill(pid)

    def is_up(self) -> bool:
        """Whether all parts are there and answer."""
        return self._site.is_up()

    def look_after(self) -> None:
        """A person starts the supervisor; the others come back by themselves."""
        if "supervisor" not in self._site.parts():
            self._site.start()

    def delivered(self) -> tuple[dict[str, list[RunGiven]], int]:
        """From its register and its evidence, by its own reader, which compares the digests."""
        found: dict[str, list[RunGiven]] = {LINE: [], FOLDER: []}
        twice = 0
        for instrument, number, rows, end, repeats in in_the_site(self._plant, HELD):
            found[instrument].append(RunGiven(number, tuple(map(tuple, rows)), end or "not ended"))
            twice += repeats
        return found, twice

    def close(self) -> None:
        """Stop it, whatever state it is in."""
        for pid in self._site.everything():
            kill(pid)
        if self._site.process is not None:
            self._site.process.wait()
        time.sleep(0.5)


def demo_plant(folder: Path) -> Path:
    """Ten days of plant A in a new folder."""
    plant = folder / "plant"
    plant.mkdir(mode=0o700)
    in_the_site(plant, MAKE)
    return plant


def in_the_site(folder: Path, program: str) -> Any:
    """What a program that uses the site's own parts prints, as JSON."""
    settings = {"ISOHUME_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "isohume.outlets.site.config.settings"}
    words = [sys.executable, "-c", IN_THE_SITE + program, str(folder)]
    done = subprocess.run(words, env={**os.environ, **settings}, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(done.stderr[-3000:])
    return json.loads(done.stdout.splitlines()[-1])

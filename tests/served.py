"""What the tests in the real browser share: the demo plant made once, a running site, Chromium."""

from __future__ import annotations

import fcntl
import json
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

COMMAND = (sys.executable, "-c", "from isohume.outlets.cli.main import run; run()")
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = (  # as root it runs without its sandbox, and it calls nobody
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--no-first-run",
)  # fmt: skip
DATABASE = "isohume.sqlite3"
DAYS = 14  # whole weeks: as many working days, and with them checks, on whatever day it is made
# a process of its own, because the site's settings hold for a whole process
IN_THE_SITE = """
import sys
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
make(Path(sys.argv[1]), datetime.now(UTC), days=int(sys.argv[2]))
"""


def in_the_site(folder: Path, program: str, *words: str) -> str:
    """Run a program that uses the site's own actions on a data folder; returns what it printed."""
    environment = {
        **os.environ,
        "ISOHUME_DATA": str(folder),
        "DJANGO_SETTINGS_MODULE": "isohume.outlets.site.config.settings",
    }
    command = (sys.executable, "-c", IN_THE_SITE + program, str(folder), *words)
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=600)
    assert done.returncode == 0, done.stderr[-4000:]
    return done.stdout


def demo_plant(shared: Path, days: int = DAYS) -> Path:
    """Plant A in a data folder that nobody changes; made by whoever comes first, others wait and take it.

    shared: a folder that all processes of this test run share.
    """
    folder = shared / f"plant-a-{days}-days"
    with (shared / f"{folder.name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            being_made = shared / f"{folder.name}-being-made"
            shutil.rmtree(being_made, ignore_errors=True)  # who began it failed, and says why
            being_made.mkdir(mode=0o700)
            in_the_site(being_made, MAKE, str(days))
            being_made.rename(folder)
    return folder


@dataclass
class Plant:
    """A data folder: who may sign in, and what its database says."""

    folder: Path
    served: Served | None = field(default=None)

    @property
    def password(self) -> str:
        """The password of everybody in the demonstration."""
        text = (self.folder / "demo-sign-in.txt").read_text(encoding="utf-8")
        found = re.search(r"^password of all: (.+)$", text, re.MULTILINE)
        assert found, "the demonstration says how to sign in"
        return found[1]

    def ask(self, question: str, *values: Any) -> list[tuple[Any, ...]]:
        """Rows of the site's database, read only."""
        with closing(sqlite3.connect(f"file:{self.folder / DATABASE}?mode=ro", uri=True)) as connection:
            return connection.execute(question, values).fetchall()

    def one(self, question: str, *values: Any) -> Any:
        """The only value of the only row."""
        ((found,),) = self.ask(question, *values)
        return found

    def kinds(self, after: int = 0) -> list[str]:
        """What the ledger holds after a line, by kind."""
        return [kind for (kind,) in self.ask("SELECT kind FROM ledger WHERE seq > ? ORDER BY seq", after)]

    @property
    def last_line(self) -> int:
        """The number of the ledger's last line."""
        return int(self.one("SELECT max(seq) FROM ledger"))


def copy_of(folder: Path, place: Path) -> Plant:
    """A plant of one's own to change."""
    shutil.copytree(folder, place)
    return Plant(place)


class Served:
    """A running site, started with `isohume serve` as a person does."""

    def __init__(self, folder: Path) -> None:
        words = (*COMMAND, "serve", "--data", str(folder), "--port", "0", "--json")
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        assert self.process.stdout
        line = self.process.stdout.readline()
        assert line, self.process.communicate()[1]
        self.said: dict[str, Any] = json.loads(line)
        self.address: str = self.said["address"]

    def stop(self) -> None:
        """As Ctrl-C does; it must end in peace."""
        self.process.send_signal(signal.SIGTERM)
        _, said = self.process.communicate(timeout=60)
        assert self.process.returncode == 0, said


@contextmanager
def serving(plant: Plant) -> Iterator[Served]:
    """The plant's site, running."""
    plant.served = Served(plant.folder)
    try:
        yield plant.served
    finally:
        plant.served.stop()


@contextmanager
def chromium() -> Iterator[Browser]:
    """The system's Chromium."""
    with sync_playwright() as playwright:
        words = {**os.environ, "LANGUAGE": "en_US"}  # the order of day and month in its fields
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS), env=words)
        try:
            yield browser
        finally:
            browser.close()

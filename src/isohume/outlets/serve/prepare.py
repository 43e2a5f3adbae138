"""Before the site starts: evidence tables, migrations, the demonstration where it is asked for, the set-up link.

`python -m isohume.outlets.serve.prepare [--demo PLANT]`, a process of its own, so that the supervisor stays small. It
says what it found as one JSON object on standard output.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing, redirect_stdout
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from isohume.bench.record.store import open_store
from isohume.bench.record.tables import DATABASE
from isohume.foundation.quantity.errors import InputError, IsohumeError
from isohume.outlets.serve.lifeline import follow_supervisor

BEING_MADE = ".being-made"
SIGN_IN = "demo-sign-in.txt"
WHICH = "demo-plant.txt"  # the letter of the demonstration plant that a folder holds
TELL = "tell: "  # how a line of progress begins on standard error


def prepare(folder: Path, address: str) -> dict[str, Any]:
    """Make or migrate the database; the set-up link where nobody can sign in yet.

    address: host:port of the pages.
    """
    _migrate(folder)
    from isohume.outlets.site.people.setup import setup_link

    sign_in = folder / SIGN_IN
    return {
        "setup_link": setup_link(f"http://{address}"),
        "sign_in": sign_in.read_text(encoding="utf-8") if sign_in.is_file() else None,
    }


def make_demo(folder: Path, plant: str, make: Callable[[Path, datetime], Any], now: datetime) -> None:
    """Make the demonstration beside its place; the database comes last, so that half of one is never taken for it."""
    place = folder / BEING_MADE
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    _migrate(place)
    make(place, now)
    (place / WHICH).write_text(f"{plant}\n", encoding="utf-8")
    _folded(place / DATABASE)
    for path in sorted(place.iterdir(), key=lambda path: path.name == DATABASE):
        if not path.name.startswith(f"{DATABASE}-"):
            shutil.rmtree(folder / path.name, ignore_errors=True)
            path.replace(folder / path.name)
    shutil.rmtree(place)


def refuse_another(folder: Path, plant: str) -> None:
    """A folder that holds data is opened as it is: whoever names a demonstration plant must find that one in it.

    Raises: InputError for a folder with another demonstration plant, or with data of one's own.
    """
    if not (folder / DATABASE).exists():
        return
    which = folder / WHICH
    there = which.read_text(encoding="utf-8").strip() if which.is_file() else ""
    if there != plant:
        holds = f"plant {there}" if there else "data that do not say which plant they are of"
        raise InputError("plant", plant, f"a folder of its own: {folder.name} holds {holds}; or leave --plant out")


def _migrate(folder: Path) -> None:
    open_store(folder).close()
    os.environ["DJANGO_SETTINGS_MODULE"] = "isohume.outlets.site.config.settings"
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0, interactive=False)
    open_store(folder).close()  # a migration that took a guard from the evidence tables is seen here


def _folded(database: Path) -> None:
    """One file holds everything: a log left beside it would be read into whatever database lies there next."""
    from django.db import connections

    connections.close_all()
    with closing(sqlite3.connect(database)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    log = Path(f"{database}-wal")
    if log.exists() and log.stat().st_size:
        raise IsohumeError("the demonstration's database is still being written; nothing was put in its place")


def main(words: list[str]) -> int:
    """Prepare the folder that the environment names: the data folder, or the place where its demonstration is made."""
    follow_supervisor(at_once=True)
    folder, address = Path(os.environ["ISOHUME_DATA"]), os.environ["ISOHUME_ADDRESS"]
    try:
        with redirect_stdout(sys.stderr):
            if "--demo" in words:
                plant = words[words.index("--demo") + 1]
                make_demo(folder.parent, plant, _maker(plant), datetime.now(UTC))
                found: dict[str, Any] = {}
            else:
                found = prepare(folder, address)
    except IsohumeError as error:
        found = {"refused": str(error)}
    sys.stdout.write(json.dumps(found))
    return 0


def _maker(plant: str) -> Callable[[Path, datetime], None]:
    def make(folder: Path, now: datetime) -> None:
        if plant == "a":
            from isohume.outlets.demo.plant_a import make as make_a

            make_a(folder, now, tell=_tell)
        else:
            from isohume.outlets.demo.live.making import make as make_live

            make_live(folder, now, plant, _tell)

    return make


def _tell(line: str) -> None:
    sys.stderr.write(f"{TELL}{line}\n")
    sys.stderr.flush()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""`--status`: what the spool holds, what waits, what was refused; read beside a running agent."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.spool import DATABASE, open_database
from isohume.outlets.capture.spool_lock import is_held

DELIVERY = "delivery"
LEAST_FREE = 16 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class InstrumentStatus:
    """One instrument as the spool knows it."""

    name: str
    source: str
    source_at: str
    run: str  # the open run's number or key, '' where none is open
    readings: int
    said_before: int


@dataclass(frozen=True, slots=True)
class Status:
    """The whole spool."""

    spool: str
    running: bool
    last: int
    acknowledged: int
    oldest_waiting_at: str
    unread: int
    delivery: str
    delivery_at: str
    disk: str
    instruments: tuple[InstrumentStatus, ...]

    @property
    def waiting(self) -> int:
        """How many entries the site has not acknowledged."""
        return self.last - self.acknowledged

    @property
    def refused(self) -> str:
        """What the site refuses, in words; '' where it refuses nothing."""
        return self.delivery if self.delivery.startswith("refused") else ""

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it; what is not known is null."""
        return {
            "spool": self.spool,
            "running": self.running,
            "last": self.last,
            "acknowledged": self.acknowledged,
            "waiting": self.waiting,
            "oldest_waiting_at": self.oldest_waiting_at or None,
            "unread": self.unread,
            "refused": self.refused or None,
            "delivery": self.delivery or None,
            "delivery_at": self.delivery_at or None,
            "disk": self.disk or None,
            "instruments": [
                {
                    "instrument": one.name,
                    "source": one.source or None,
                    "source_at": one.source_at or None,
                    "open_run": one.run or None,
                    "readings": one.readings,
                    "said_before": one.said_before,
                }
                for one in self.instruments
            ],
        }


def read_status(folder: Path) -> Status:
    """The state of a spool.

    Raises: InputError where there is none.
    """
    if not (folder / DATABASE).is_file():
        raise InputError("spool", str(folder), "the folder of a spool: there is none in it yet")
    try:
        with closing(open_database(folder, read_only=True)) as db:
            free = shutil.disk_usage(folder).free
            disk = f"only {free // 1024} KiB free: entries may not be written" if free < LEAST_FREE else ""
            return _status(db, is_held(folder), disk)
    except sqlite3.DatabaseError as error:
        raise InputError("spool", str(folder), f"a spool that can be read ({error})") from None


def _status(db: sqlite3.Connection, running: bool, disk: str) -> Status:
    key, last, acknowledged = db.execute("SELECT spool, last, acknowledged FROM mark").fetchone()
    oldest = db.execute("SELECT body FROM entry WHERE n > ? ORDER BY n LIMIT 1", (acknowledged,)).fetchone()
    unread = db.execute("SELECT count(*) FROM entry WHERE run = '' AND body LIKE '{\"kind\":\"unread\"%'").fetchone()[0]
    said = {topic: (at, words) for topic, at, words in db.execute("SELECT topic, at, words FROM said")}
    readers = {name: json.loads(state) for name, state in db.execute("SELECT * FROM reader")}
    names = sorted({*readers, *said} - {DELIVERY})
    delivery_at, delivery = said.get(DELIVERY, ("", ""))
    return Status(
        key,
        running,
        last,
        acknowledged,
        "" if oldest is None else str(json.loads(oldest[0])["at"]),
        unread,
        delivery,
        delivery_at,
        disk,
        tuple(_instrument(name, said.get(name, ("", "")), readers.get(name, {})) for name in names),
    )


def _instrument(name: str, said: tuple[str, str], state: dict[str, Any]) -> InstrumentStatus:
    run = state.get("open") or {}
    label = run.get("number") or run.get("key") or ""
    return InstrumentStatus(name, said[1], said[0], label, run.get("readings", 0), state.get("dropped", 0))

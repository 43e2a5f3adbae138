"""Random tampering with a store of real records: `verify` must say no, and name the row.

    python -m proofs.tamper [--trials 2000] [--seed N] [--report docs/proof/tamper.md]

Bytes of cells are changed through SQL with the guards dropped (and put back), rows deleted and swapped, guards
altered; and bytes of the files themselves are changed, where a change may also fall on unused space of a page: then
every cell must be what it was.
"""

from __future__ import annotations

import argparse
import platform
import random
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from isohume.bench.record.head import HEAD_FILE
from isohume.bench.record.rows_of_lines import Bad
from isohume.bench.record.tables import DATABASE, OBJECTS
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError
from isohume.version import __version__
from proofs.tamper_sound import COLUMNS, GUARDS, Rows, behind, copied, make_store, rows_of, with_its_log

REPORT = Path(__file__).parents[1] / "docs" / "proof" / "tamper.md"
COMMAND = Path(sys.executable).with_name("isohume")
LOTS = 12
NOTHING_CHANGED, UNREADABLE = Bad("", "", ""), Bad("store", "", "")


@dataclass
class Count:
    """How one kind of tampering went."""

    trials: int = 0
    named: int = 0
    noticed: int = 0
    harmless: int = 0
    missed: list[str] = field(default_factory=list)


class Sweep:
    """One store, tampered with again and again."""

    def __init__(self, sound: Path, rng: random.Random) -> None:
        self.sound, self.rng = sound, rng
        self.rows = rows_of(sound)
        self.copy = sound.with_name("tampered")
        self.counts: dict[str, Count] = {}
        self.asked = 0

    def judge(self, what: str, detail: str, expected: tuple[str, str] | None) -> None:
        """Count a trial: named as expected, noticed, harmless (no cell differs), or missed."""
        count = self.counts.setdefault(what, Count())
        count.trials += 1
        bad = first_bad(self.copy)
        if bad is not None and count.trials % 50 == 1:
            self.asked += 1
            done = subprocess.run([COMMAND, "verify", str(self.copy), "--json"], capture_output=True, check=False)
            if done.returncode != 1:
                count.missed.append(f"{detail}: the command exited {done.returncode}")
        if bad is not None and expected is not None and (bad.kind, bad.id) == expected:
            count.named += 1
        elif bad is not None and bad is not UNREADABLE and expected is None:
            count.noticed += 1
        elif bad is None and expected is None and self._unchanged():
            count.harmless += 1
        else:
            count.missed.append(f"{detail}: expected {expected}, verify said {bad}")

    def _unchanged(self) -> bool:
        try:
            return rows_of(self.copy) == self.rows
        except sqlite3.Error:
            return False

    def cell(self) -> None:
        """One byte of one cell becomes another."""
        table = self.rng.choice(list(COLUMNS))
        column = self.rng.choice([name for name in COLUMNS[table] if name != "seq"])
        row = self.rng.choice(self.rows[table])
        stored, kind = row[2 * COLUMNS[table].index(column)], row[2 * COLUMNS[table].index(column) + 1]
        changed = bytearray(stored)  # type: ignore[call-overload]
        place = self.rng.randrange(len(changed))
        changed[place] = self.rng.choice([value for value in range(1, 128) if value != changed[place]])
        copied(self.sound, self.copy)
        sql = f"UPDATE {table} SET {column} = CAST(? AS {kind.decode()}) WHERE seq = ?"  # type: ignore[attr-defined]
        try:
            behind(self.copy, (sql, (bytes(changed), row[0])), restore=self.rng.random() < 0.5)
        except sqlite3.IntegrityError:  # another row has that id: the database refuses, nothing was changed
            return
        self.judge(f"one byte of a {table} cell", f"{table}.{column}[{place}] of {row[0]}", self._named(table, row))

    def row_deleted(self) -> None:
        """A row goes."""
        table = self.rng.choice(list(COLUMNS))
        row = self.rng.choice(self.rows[table])
        copied(self.sound, self.copy)
        behind(self.copy, (f"DELETE FROM {table} WHERE seq = ?", (row[0],)))
        self.judge(f"a {table} row deleted", f"{table} {row[0]}", self._named(table, row))

    def rows_swapped(self) -> None:
        """Two rows change places, or all but one cell of them."""
        table = self.rng.choice(list(COLUMNS))
        first, second = sorted(self.rng.sample(self.rows[table], 2), key=lambda row: int(str(row[0])))
        columns = [name for name in COLUMNS[table] if name not in ("seq", "id", "sha256")]
        if self.rng.random() < 0.5:
            columns = [self.rng.choice(columns)]
        places = [2 * COLUMNS[table].index(name) for name in columns]
        if all(first[place] == second[place] for place in places):
            return
        copied(self.sound, self.copy)
        sets = ", ".join(
            f"{name} = CAST(? AS {first[at + 1].decode()})" for name, at in zip(columns, places, strict=True)
        )
        sql = f"UPDATE {table} SET {sets} WHERE seq = ?"
        one, other = (tuple(row[place] for place in places) for row in (first, second))
        try:
            behind(self.copy, (sql, (*other, first[0])), (sql, (*one, second[0])))
        except sqlite3.IntegrityError:  # another signature has that record, person and meaning: nothing was changed
            return
        self.judge(f"two {table} rows swapped", f"{table} {first[0]} and {second[0]}", self._named(table, first))

    def guard(self) -> None:
        """A trigger loses or changes a character of its text, or goes."""
        name = self.rng.choice(GUARDS)
        copied(self.sound, self.copy)
        with sqlite3.connect(self.copy / DATABASE) as connection:
            connection.execute(f"DROP TRIGGER {name}")
            if self.rng.random() < 0.7:
                start = OBJECTS[name].index("'") + 1
                place = self.rng.randrange(start, OBJECTS[name].index("'", start))
                connection.execute(OBJECTS[name][:place] + "_" + OBJECTS[name][place + 1 :])
        connection.close()
        if OBJECTS[name] not in [sql.decode() for _, sql in rows_of(self.copy)["schema"] if sql]:  # type: ignore[attr-defined]
            self.judge("a trigger missing or altered", name, ("trigger", name))

    def file_byte(self) -> None:
        """A byte of the database file, wherever it falls."""
        copied(self.sound, self.copy)
        place = change_byte(self.copy / DATABASE, self.rng)
        self.judge("one byte of the database file", f"byte {place}", None)

    def head_byte(self) -> None:
        """A byte of the head file."""
        copied(self.sound, self.copy)
        place = change_byte(self.copy / HEAD_FILE, self.rng)
        what = "one byte of the head file"
        self.judge(what, f"byte {place}", None)
        if self.counts[what].harmless:  # the head file has no unused byte
            self.counts[what].missed.append(f"byte {place}: not noticed")

    def log_byte(self) -> None:
        """A byte of the log that a kill left; with or without the log's index."""
        copied(self.sound, self.copy)
        if self.rng.random() < 0.5:
            (self.copy / f"{DATABASE}-shm").unlink()
        place = change_byte(self.copy / f"{DATABASE}-wal", self.rng)
        self.judge("one byte of a log left by a kill", f"byte {place}", None)

    def _named(self, table: str, row: tuple[object, ...]) -> tuple[str, str]:
        by = {"record": "id", "file": "sha256"}.get(table)
        return table, str(row[0]) if by is None else row[2 * COLUMNS[table].index(by)].decode()  # type: ignore[attr-defined]


def first_bad(folder: Path) -> Bad | None:
    """What `verify` names; a store that it takes for none at all is not noticed, for it would be made anew."""
    try:
        found = verify(folder)
    except InputError:
        return UNREADABLE
    return None if found.verified else found.first_bad or NOTHING_CHANGED


def change_byte(path: Path, rng: random.Random) -> int:
    """Another value for one byte of a file; returns its place."""
    stored = bytearray(path.read_bytes())
    place = rng.randrange(len(stored))
    stored[place] ^= rng.randrange(1, 256)
    path.write_bytes(stored)
    return place


def report(counts: dict[str, Count], rows: Rows, size: int, seed: int, trials: int, asked: int) -> str:
    """The page for docs/proof."""
    missed = [f"- {what}: {text}" for what, count in counts.items() for text in count.missed]
    total = sum(count.trials for count in counts.values())
    lines = [
        "# Tampering with the store",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}, SQLite "
        f"{sqlite3.sqlite_version}, seed {seed}. Again: `python -m proofs.tamper --trials {trials} --seed {seed}`.",
        "",
        f"**{total} changes, {len(missed)} missed**, to a store of {len(rows['ledger'])} ledger lines, "
        f"{len(rows['record'])} records, {len(rows['signature'])} signatures and {len(rows['file'])} files ({size} "
        "bytes). Named: `verify` says no and `first_bad` is the very row or trigger. Noticed: it says no, at the first "
        "thing that no longer holds. No cell changed: the byte lies in unused space of a page or in what SQLite keeps "
        "for itself, and every cell and guard is what it was.",
        f"The installed `isohume verify` was run {asked} times among these; another exit than 1 counts as missed.",
        "",
        "| what was changed | trials | named | noticed | no cell changed | missed |",
        "|---|---|---|---|---|---|",
        *(
            f"| {what} | {c.trials} | {c.named} | {c.noticed} | {c.harmless} | {len(c.missed)} |"
            for what, c in sorted(counts.items())
        ),
        "",
        *missed,
        "What this does not show: whoever rewrites a line and every later one, the numbering, the head file and every "
        "certificate leaves a chain that agrees with itself. Against that stand the digests printed on certificates "
        "and copies of the head kept elsewhere.",
        "",
    ]
    return "\n".join(lines)


def main() -> int:
    """Tamper, count, write the page."""
    parser = argparse.ArgumentParser(description="Tamper with a store at random places.")
    parser.add_argument("--trials", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--report", type=Path, default=REPORT, help="the page that is written")
    given = parser.parse_args()
    seed = random.SystemRandom().randrange(10**6) if given.seed is None else given.seed
    with tempfile.TemporaryDirectory(prefix="isohume-tamper-") as place:
        sweep = Sweep(make_store(Path(place), LOTS), random.Random(seed))
        shares: list[tuple[Callable[[], None], float]] = [
            (sweep.cell, 1.0),
            (sweep.file_byte, 1.0),
            (sweep.row_deleted, 0.15),
            (sweep.rows_swapped, 0.3),
            (sweep.guard, 0.1),
            (sweep.head_byte, 0.1),
        ]
        for change, share in shares:
            for _ in range(round(share * given.trials)):
                change()
        size = (sweep.sound / DATABASE).stat().st_size
        killed = Sweep(with_its_log(sweep.sound, sweep.sound.with_name("killed")), sweep.rng)
        killed.counts = sweep.counts
        for _ in range(round(0.3 * given.trials)):
            killed.log_byte()
        asked = sweep.asked + killed.asked
        page = report(sweep.counts, sweep.rows, size, seed, given.trials, asked)
    given.report.parent.mkdir(parents=True, exist_ok=True)
    given.report.write_text(page, encoding="utf-8")
    missed = sum(len(count.missed) for count in sweep.counts.values())
    print(f"{sum(count.trials for count in sweep.counts.values())} changes, {missed} missed (seed {seed})")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

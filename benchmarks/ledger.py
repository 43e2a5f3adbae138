"""What the ledger costs: chained appends against raw inserts of the same bytes, verification against a bare scan.

    python benchmarks/ledger.py [--rounds 15] [--folder DIR]

Each pair runs interleaved in one process (A B, B A, ...), on one file system, in write-ahead mode with full sync; the
ratio is the median of the ratios of neighbouring runs. "Per core": both sides are one thread; where no disk waits, the
times are processor time.
"""

from __future__ import annotations

import argparse
import itertools
import os
import platform
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from isohume.bench.record.store import open_store
from isohume.bench.record.tables import DATABASE, INSERT_LINE, LEDGER_COLUMNS, RECORD_COLUMNS
from isohume.bench.record.verification import verify
from isohume.version import __version__

RAW_TABLE = """CREATE TABLE ledger (seq INTEGER PRIMARY KEY AUTOINCREMENT, at TEXT NOT NULL, kind TEXT NOT NULL,
ref TEXT NOT NULL, payload BLOB NOT NULL, previous TEXT NOT NULL, digest TEXT NOT NULL) STRICT"""
EVENT = b'{"a_w":"0.6315","block_temperature_c":"25.0","component":"whole bar","instrument":"OW-1","portion":"%06d"}'
RECORD_BYTES = 6000  # the size of a frozen record of four runs
SINGLES = 200
BATCH = 20_000
VERIFIED_ROUNDS, LINES_PER_RECORD = 4000, 12  # a plant's mix: about 13 lines a record


def main() -> None:
    """Run the three comparisons and print them as a Markdown table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--folder", type=Path, default=None, help="where to write (a real disk, not a memory disk)")
    given = parser.parse_args()
    print(
        f"isohume {__version__}, Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, "
        f"{os.cpu_count()} cores, {platform.machine()}, {given.rounds} rounds\n"
    )
    print("| what | raw, median | isohume, median | ratio (raw / isohume) | wanted |")
    print("|---|---|---|---|---|")
    with tempfile.TemporaryDirectory(dir=given.folder) as place:
        for name, wanted, unit, compared in (
            ("one synced line", 0.85, "µs a line", single_appends),
            ("batch of lines", 0.40, "µs a line", batch_appends),
            ("verify against a bare scan", 0.35, "ms", verification),
        ):
            raw, ours, ratio = compared(Path(place), given.rounds)
            print(f"| {name} | {raw:.2f} {unit} | {ours:.2f} {unit} | {ratio:.3f} | {wanted:.2f} |")
            sys.stdout.flush()


def single_appends(place: Path, rounds: int) -> tuple[float, float, float]:
    """One line a transaction, each synced: raw insert of the same bytes, and chained append."""
    raw = raw_database(place / "single.sqlite3")
    payload = EVENT % 7
    row = ("2026-11-24T15:42:10+00:00", "reading", "SB-1124-07", payload, "0" * 64, "1" * 64)
    numbers = itertools.count(1)

    def raw_insert() -> None:
        raw.execute(INSERT_LINE, (next(numbers), *row))  # one statement, committed and synced

    with open_store(place / "single") as store:

        def append() -> None:
            store.append("reading", "SB-1124-07", payload)

        times = interleaved(raw_insert, append, rounds * SINGLES, time.perf_counter)
    raw.close()
    return 1e6 * times[0], 1e6 * times[1], times[2]


def batch_appends(place: Path, rounds: int) -> tuple[float, float, float]:
    """Many lines in one transaction: executemany of rows made beforehand, and chained append."""
    raw = raw_database(place / "batch.sqlite3")
    lines = [("reading", "SB-1124-07", EVENT % number) for number in range(BATCH)]
    starts = itertools.count(0, BATCH)

    def raw_insert() -> None:
        raw.execute("BEGIN IMMEDIATE")
        raw.executemany(INSERT_LINE, prepared.pop())
        raw.execute("COMMIT")

    def prepare() -> None:
        start = next(starts)
        prepared.append(
            [
                (start + 1 + at, "2026-11-24T15:42:10+00:00", kind, ref, payload, "0" * 64, "1" * 64)
                for at, (kind, ref, payload) in enumerate(lines)
            ]
        )

    prepared: list[list[Any]] = []
    with open_store(place / "batch") as store:

        def append() -> None:
            with store.transaction() as transaction:
                transaction.append_many(lines)

        times = interleaved(raw_insert, append, rounds, time.perf_counter, before_first=prepare)
    raw.close()
    return 1e6 * times[0] / BATCH, 1e6 * times[1] / BATCH, times[2]


def verification(place: Path, rounds: int) -> tuple[float, float, float]:
    """All rows of both tables read and thrown away, and `verify`."""
    folder = place / "verified"
    fill(folder)

    def scan() -> None:
        connection = sqlite3.connect(folder / DATABASE)
        for table, columns in (("ledger", LEDGER_COLUMNS), ("record", RECORD_COLUMNS)):
            for _ in connection.execute(f"SELECT {columns} FROM {table} ORDER BY seq"):
                pass
        connection.close()

    def check() -> None:
        if not verify(folder).verified:
            raise SystemExit("the benchmark's own store does not verify")

    times = interleaved(scan, check, rounds, time.process_time)
    return 1e3 * times[0], 1e3 * times[1], times[2]


def fill(folder: Path) -> None:
    """A store with the mix of lines and records that a plant leaves."""
    padding = "x" * RECORD_BYTES
    with open_store(folder) as store:
        for batch in range(VERIFIED_ROUNDS // 100):
            with store.transaction() as transaction:
                for number in range(100):
                    transaction.append_many(
                        [("reading", f"SB-{batch:04d}-{number:02d}", EVENT % at) for at in range(LINES_PER_RECORD)]
                    )
                    transaction.freeze(
                        lambda record_id, at: {"id": record_id, "issued_at": at, "padding": padding},
                        f"SB-{batch:04d}-{number:02d}",
                        f"{batch * 100 + number:064x}",
                    )


def raw_database(path: Path) -> sqlite3.Connection:
    """The same columns without chain or triggers, with the same care for the disk."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute(RAW_TABLE)
    return connection


def interleaved(
    first: Callable[[], None],
    second: Callable[[], None],
    rounds: int,
    clock: Callable[[], float],
    before_first: Callable[[], None] | None = None,
) -> tuple[float, float, float]:
    """Median times of two jobs that take turns, each going first in half of the rounds, and the median ratio."""
    times: dict[Callable[[], None], list[float]] = {first: [], second: []}
    for turn in range(rounds + 1):
        for job in (first, second) if turn % 2 else (second, first):
            if job is first and before_first is not None:
                before_first()
            start = clock()
            job()
            times[job].append(clock() - start)
    pairs = list(zip(times[first][1:], times[second][1:], strict=True))  # the first turn warms up
    ratio = statistics.median(one / other for one, other in pairs)
    return statistics.median(one for one, _ in pairs), statistics.median(other for _, other in pairs), ratio


if __name__ == "__main__":
    main()

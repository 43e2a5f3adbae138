"""Look-back in a large record: the results between two checks among 1 million and 10 million readings.

    python -m benchmarks.look_back [--folder DIR] [--rounds 40]

The site's own tables and indexes on SQLite, filled by SQL in a temporary folder that is deleted afterwards (about
4 GB): ten instruments, an opening and a closing check a day, 100 readings a day between them, ten a lot. A check fails
after a day without a closing one; the question is the site's own, from the failed check to the ranked list.
"""

from __future__ import annotations

import argparse
import json
import os
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

SIZES = (1_000_000, 10_000_000)
INSTRUMENTS, A_DAY, A_LOT = 10, 100, 10
BEGUN = datetime(2000, 1, 3, 6, 5, tzinfo=UTC)
BATCH = 200_000
GOAL = 5.0
REFERENCES = (("LiCl", 0.1130), ("MgCl2", 0.3279), ("Mg(NO3)2", 0.5290), ("NaCl", 0.7529))
LOW = {"LiCl": -0.001, "MgCl2": -0.004, "Mg(NO3)2": -0.009, "NaCl": -0.012}


def stamp(at: datetime) -> str:
    """A moment as Django writes it into SQLite."""
    return at.replace(tzinfo=None).isoformat(sep=" ")


def result_of(off: dict[str, float]) -> str:
    """A check's kept result, as the site keeps it."""
    solutions = [
        {
            "solution": name, "kind": "saturated", "molality": None, "temperature_c": 25.0, "n": 1,
            "mean": a_w + off.get(name, 0.0), "expected": a_w, "deviation": off.get(name, 0.0),
            "u_deviation": 0.0016, "e_n": off.get(name, 0.0) / 0.0032, "within": abs(off.get(name, 0.0)) <= 0.003,
            "u_reference": 0.0006, "largest_deviation": off.get(name, 0.0), "source": "Greenspan1977", "lots": [],
        }
        for name, a_w in REFERENCES
    ]  # fmt: skip
    return json.dumps({"solutions": solutions, "limit": 0.005, "covers_a_w": [0.113, 0.7529], "reasons": []})


def make_folder(folder: Path) -> None:
    """An empty site with a plant, a method, ten instruments and a product."""
    from django.core.management import call_command
    from tests.outlets.site import make

    from isohume.bench.record.store import open_store
    from isohume.outlets.site.people.roles import ANALYST

    open_store(folder).close()
    call_command("migrate", run_syncdb=True, verbosity=0)
    site = make.make_site()
    method = make.make_method(site)
    make.make_person(site, ANALYST, username="analyst")
    make.make_product(method)
    for k in range(INSTRUMENTS):
        make.make_instrument(site, f"OW-{k + 1}")


def days_of(size: int) -> int:
    """How many days it takes."""
    return size // (INSTRUMENTS * A_DAY)


def check_rows(days: int) -> Iterator[tuple[Any, ...]]:
    """Opening and closing check of every instrument and day; the last day has no closing check, and then one fails."""
    good, bad = result_of({}), result_of(LOW)
    for day in range(days + 1):
        for k in range(INSTRUMENTS):
            failed = day == days
            for kind, hours in (("opening", 0.0), *((("closing", 9.5),) if day < days - 1 else ())):
                first = BEGUN + timedelta(days=day, hours=hours)
                last = first + timedelta(minutes=15)
                until = first + timedelta(hours=24)
                yield (
                    kind, "0.005", "0.0015", not failed, not failed, None if failed else 0.113,
                    None if failed else 0.7529, stamp(first), stamp(last), stamp(until), bad if failed else good,
                    stamp(last + timedelta(minutes=1)), k + 1,
                )  # fmt: skip


RUNS = (
    "INSERT INTO bench_run (id, instrument_number, a_w, sample_temperature_c, block_temperature_c, read_at, "
    "override_reason, void_reason, correction_reason, plausibility, trace_sha256, stopped, u_estimate, "
    "entered_at, by_id, instrument_id, method_version_id, opening_check_id, portion_id) "
    "VALUES (?, '', ?, '25.0', '25.0', ?, '', '', '', '', '', '', '', ?, 1, ?, 1, 1, ?)"
)
LOTS = (
    "INSERT INTO bench_lot (id, code, key, description, received_at, customer, state, entered_at, by_id, product_id, "
    "site_id, specification_id) VALUES (?, ?, ?, '', ?, '', 'released', ?, 1, 1, 1, 1)",
    "INSERT INTO bench_sample (id, code, position, component, sealed, temperature_c, received_at, by_id, lot_id) "
    "SELECT ?1, '1', 'line 1', 'whole bar', 1, '', ?4, 1, ?1 WHERE ?2 <> ?3 AND ?4 = ?5",
    "INSERT INTO bench_portion (id, code, cover, covered_at, prepared_at, temperature_c, done, discarded_reason, "
    "by_id, sample_id) SELECT ?1, 'A', 'lidded', ?4, ?4, '', 1, '', 1, ?1 WHERE ?2 <> ?3 AND ?4 = ?5",
)
CHECKS = (
    "INSERT INTO checks_check (kind, 'limit', u_instrument, passed, may_measure, covers_low, covers_high, "
    "first_read_at, last_read_at, until, result, entered_at, instrument_id, hints, left_out, note, void_reason, by_id, "
    "method_version_id) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?, '[]', '', '', '', 1, 1)"
)
OF_BENCH = "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL AND tbl_name LIKE 'bench_%'"


def fill(folder: Path, size: int) -> None:
    """Checks, lots and runs in time order as a bench makes them; the site's indexes are built when all are there."""
    database = sqlite3.connect(folder / "isohume.sqlite3", isolation_level=None)
    database.executescript("PRAGMA journal_mode = DELETE; PRAGMA synchronous = OFF; PRAGMA foreign_keys = OFF;")
    indexes = database.execute(OF_BENCH).fetchall()
    for name, _ in indexes:
        database.execute(f"DROP INDEX {name}")
    database.execute("BEGIN")
    database.executemany(CHECKS, check_rows(days_of(size)))
    for first in range(0, size, BATCH):
        numbers = range(first, min(first + BATCH, size))
        lots = [(n + 1, f"L{n}", f"l{n}", at, at) for n in range(first // A_LOT, (numbers[-1] + 1) // A_LOT)
                for at in (stamp(_at(A_LOT * n)),)]  # fmt: skip
        for statement in LOTS:
            database.executemany(statement, lots)
        database.executemany(RUNS, map(_run, numbers))
    database.execute("COMMIT")
    for _, sql in indexes:
        database.execute(sql)
    database.executescript("PRAGMA journal_mode = WAL;")
    database.close()


def _run(n: int) -> tuple[Any, ...]:
    at = stamp(_at(n))
    return n + 1, f"{0.62 + n // A_LOT % 211 / 10000 + n % A_LOT / 10000:.4f}", at, at, _instrument(n), n // A_LOT + 1


def _instrument(n: int) -> int:
    """The readings of a lot on one instrument; the lots of a day go round."""
    return n // A_LOT % INSTRUMENTS + 1


def _at(n: int) -> datetime:
    """When reading n was made: its day, and its place in it."""
    day, place = divmod(n, INSTRUMENTS * A_DAY)
    return BEGUN + timedelta(days=day, hours=1, minutes=place * 480 / (INSTRUMENTS * A_DAY))


def measure(folder: Path, size: int, rounds: int) -> dict[str, float]:
    """Seconds of the whole look-back and of its bare question, the instruments by turns."""
    from django.db import connection

    from isohume.outlets.site.checks.models import Check
    from isohume.outlets.site.checks.window_of_check import runs_between, window_of_check
    from isohume.outlets.site.lookback.queries import looked_back

    failed = list(Check.objects.filter(passed=False).select_related("instrument__site"))
    whole, bare = [], []
    for turn in range(rounds + 3):
        check = failed[turn % len(failed)]
        begun = time.perf_counter()
        looked = looked_back(check)
        whole.append(time.perf_counter() - begun)
        begun = time.perf_counter()
        rows = list(runs_between(check, window_of_check(check)).values_list("pk", "a_w", "read_at"))
        bare.append(time.perf_counter() - begun)
        if (len(looked.back.results), len(rows)) != (A_DAY // A_LOT, A_DAY):
            raise SystemExit(f"{len(looked.back.results)} lots and {len(rows)} readings in place of {A_DAY} readings")
    connection.close()
    return {
        "first": whole[0],
        "whole": statistics.median(whole[3:]),
        "bare": statistics.median(bare[3:]),
        "best": min(whole),
        "best_bare": min(bare),
    }


def one_size(folder: Path, size: int, rounds: int) -> None:
    """In a process of its own: make it, measure it, print it as JSON."""
    os.environ["ISOHUME_DATA"] = str(folder)
    os.environ["DJANGO_SETTINGS_MODULE"] = "isohume.outlets.site.config.settings"
    import django

    django.setup()
    from django.db import connection

    make_folder(folder)
    connection.close()
    fill(folder, size)
    found = measure(folder, size, rounds)
    found["gb"] = (folder / "isohume.sqlite3").stat().st_size / 1e9
    print(json.dumps(found))


def main() -> None:
    """Both sizes, one after the other, as a Markdown table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--folder", type=Path, default=None, help="where the temporary folder goes")
    parser.add_argument("--rounds", type=int, default=40)
    given = parser.parse_args(sys.argv[1:] if __name__ == "__main__" else [])
    found = {}
    for size in SIZES:
        with tempfile.TemporaryDirectory(prefix="isohume-look-back-", dir=given.folder) as place:
            words = [sys.executable, "-m", "benchmarks.look_back", "size", place, str(size), str(given.rounds)]
            done = subprocess.run(words, check=True, stdout=subprocess.PIPE, text=True)
            found[size] = json.loads(done.stdout.splitlines()[-1])
    names = ("first", "whole", "best", "bare", "best_bare")
    print("| readings | database | look-back, the first | median | best | its readings alone, median | best |")
    print("|---|---|---|---|---|---|---|")
    for size, one in found.items():
        print(f"| {size:,} | {one['gb']:.2f} GB | " + " | ".join(f"{1e3 * one[name]:.1f} ms" for name in names) + " |")
    grown = " | ".join(f"{found[SIZES[1]][name] / found[SIZES[0]][name]:.2f}" for name in names)
    print(f"| growth, wanted at most {GOAL:.0f} | | {grown} |")


if __name__ == "__main__":
    if sys.argv[1:2] == ["size"]:
        one_size(Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))
    else:
        main()

"""A year's control chart among ten million readings of references: its page against a bare columnar scan.

    python -m benchmarks.charts [--readings 10000000] [--folder DIR]

A plant of 100 instruments with four references each, three checks a day, written straight into the site's database in
the order of time. The scan is DuckDB's over the same readings, in its own file that stays open: moments and values of
one chart's year, fetched as Python objects. Against it stand the questions behind the page, the chart's numbers, and
the page as the site's WSGI application answers it: session, person, rights, every byte of the answer, no network. The
page is looked at again, after a line of the ledger about something else, after a check of this very chart, and with
nothing kept of it.
"""

from __future__ import annotations

import argparse
import os
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

INSTRUMENTS, REFERENCES, HOURS = 100, 4, 8
END = datetime(2026, 9, 16, 6, 0, tzinfo=UTC)
ROUNDS, WARM = 40, 5
LAST_HOUR = timedelta(hours=1)
GOAL = 2.0
CHART = INSTRUMENTS * 2
BARE = "bare columnar scan (DuckDB), file open, rows fetched"
AGAIN = "the whole page, looked at again"
ELSEWHERE = "the whole page, first look after a check of another instrument"
CHECKED = "the whole page, first look after a check of this chart"
NOTHING_KEPT = "the whole page, nothing kept of it in this process"
WANTED = (AGAIN, ELSEWHERE, CHECKED, NOTHING_KEPT)
CHECKS = """
WITH RECURSIVE k(n) AS (SELECT 0 UNION ALL SELECT n + 1 FROM k WHERE n + 1 < :checks)
INSERT INTO checks_check (id, instrument_id, method_version_id, kind, "limit", u_instrument, passed, may_measure,
  first_read_at, last_read_at, until, result, hints, note, void_reason, entered_at, by_id, left_out)
SELECT n + 1, n % :instruments + 1, 1, 'opening', '0.005', '0.0015', 1, 1, at, at, at, '{"solutions": []}', '[]',
  '', '', at, 1, ''
FROM (SELECT n, datetime(:begin + (n / :instruments) * :step, 'unixepoch') AS at FROM k)
"""
POINTS = """
INSERT INTO charts_chartpoint (chart_id, of_check_id, at_s, value, within, lot, new_lot)
SELECT (c.id - 1) % :instruments * :references + r.n, c.id, unixepoch(c.last_read_at),
  ((c.id * 7919 + r.n * 104729) % 2003 - 1001 + (c.id * 15485863 + r.n * 32452843) % 1999 - 999) / 2000000.0, 1,
  'lot-' || strftime('%Y', c.last_read_at),
  (c.id - 1) / :instruments > 0 AND strftime('%Y', c.last_read_at) <>
    strftime('%Y', datetime(c.last_read_at, '-' || :step || ' seconds'))
FROM checks_check c, (SELECT 1 AS n UNION ALL SELECT 2 UNION ALL SELECT 3 UNION ALL SELECT 4) r
ORDER BY c.id, r.n
"""
ONE_CHECK = """
INSERT INTO checks_check (instrument_id, method_version_id, kind, "limit", u_instrument, passed, may_measure,
  first_read_at, last_read_at, until, result, hints, note, void_reason, entered_at, by_id, left_out)
VALUES (:instrument, 1, 'opening', '0.005', '0.0015', 1, 1, :at, :at, :at, '{"solutions": []}', '[]', '', '',
  :at, 1, '')
"""
ONE_POINT = """
INSERT INTO charts_chartpoint (chart_id, of_check_id, at_s, value, within, lot, new_lot)
VALUES (?, ?, ?, ?, 1, 'lot-2026', 0)
"""


def made_plant(folder: Path, readings: int) -> None:
    """The site's database with so many readings of references."""
    from django.core.management import call_command
    from django.db import connection

    from isohume.bench.record.store import open_store

    open_store(folder).close()
    call_command("migrate", run_syncdb=True, verbosity=0)
    _register()
    connection.close()
    checks = readings // REFERENCES
    step = HOURS * 3600
    given = {
        "checks": checks,
        "instruments": INSTRUMENTS,
        "references": REFERENCES,
        "step": step,
        "begin": int(END.timestamp()) - (checks - 1) // INSTRUMENTS * step,
    }
    with sqlite3.connect(folder / "isohume.sqlite3") as database:
        for setting in ("journal_mode = OFF", "synchronous = OFF", "cache_size = -2000000"):
            database.execute(f"PRAGMA {setting}")  # only while the invented rows are written
        database.execute(CHECKS, given)
        database.execute(POINTS, given)
    database.execute("PRAGMA journal_mode = WAL")
    database.execute("ANALYZE")
    database.close()


def _register() -> None:
    """What the rows speak of; made as plain objects, no ledger line tells of an invented plant."""
    from isohume.outlets.site.charts.models import Chart
    from isohume.outlets.site.people.models import Person, Site
    from isohume.outlets.site.people.roles import MANAGER
    from isohume.outlets.site.register.models import Instrument, Method, MethodVersion

    site = Site.objects.create(key="plant", name="Invented plant", laboratory="Bench", time_zone="Europe/London")
    Person.objects.create(site=site, username="manager", printed_name="Manager", roles=[MANAGER])
    MethodVersion.objects.create(method=Method.objects.create(site=site, name="Method"), version="1", since=END)
    for number in range(1, INSTRUMENTS + 1):
        instrument = Instrument.objects.create(site=site, name=f"I-{number}", serial=f"{number}")
        for solution in ("LiCl", "MgCl2", "Mg(NO3)2", "NaCl"):
            Chart.objects.create(site=site, instrument=instrument, solution=solution)


def columns_of(folder: Path) -> Any:
    """The same readings in DuckDB's own file, in the same order."""
    import duckdb
    import numpy as np

    store = duckdb.connect(str(folder / "readings.duckdb"))
    store.execute(
        "CREATE TABLE readings (chart INTEGER, moment TIMESTAMP, value DOUBLE, holds BOOLEAN, check_id INTEGER)"
    )
    database = sqlite3.connect(folder / "isohume.sqlite3")
    rows = database.execute("SELECT chart_id, at_s, value, within, of_check_id FROM charts_chartpoint ORDER BY id")
    while part := rows.fetchmany(500_000):
        columns = list(zip(*part, strict=True))
        batch = {
            "chart": np.array(columns[0], dtype=np.int32),
            "moment": np.array(columns[1], dtype="datetime64[s]").astype("datetime64[us]"),
            "value": np.array(columns[2]),
            "holds": np.array(columns[3], dtype=bool),
            "check_id": np.array(columns[4], dtype=np.int32),
        }
        store.execute("INSERT INTO readings SELECT chart, moment, value, holds, check_id FROM batch")
        del batch
    database.close()
    return store


@dataclass(frozen=True, slots=True)
class Work:
    """What is timed, and what is done before each turn of it, untimed."""

    run: Callable[[], object]
    before: Callable[[], object] = lambda: None


def timed(works: dict[str, Work]) -> dict[str, tuple[float, float]]:
    """The median of each, by the clock and in processor time, taken in turns so that a busy moment meets all."""
    times: dict[str, list[tuple[float, float]]] = {name: [] for name in works}
    for _ in range(ROUNDS + WARM):
        for name, work in works.items():
            work.before()
            begun, used = time.perf_counter(), time.process_time()
            work.run()
            times[name].append((time.perf_counter() - begun, time.process_time() - used))
    found = {name: list(zip(*pairs[WARM:], strict=True)) for name, pairs in times.items()}
    return {name: (statistics.median(clock), statistics.median(used)) for name, (clock, used) in found.items()}


class LaterChecks:
    """Checks recorded while the benchmark runs, in the plant's last hour, with their ledger line; taken back after."""

    def __init__(self, folder: Path) -> None:
        self.database = folder / "isohume.sqlite3"
        self.made: list[int] = []
        self.last: dict[int, int] = {}

    def record(self, instrument: int) -> None:
        """One more check of an instrument, as `made_plant` writes them, and its line."""
        from isohume.outlets.site.ledger.notes import note

        at = END + LAST_HOUR * (1 + len(self.made)) / (2 * (ROUNDS + WARM) + 2)
        with sqlite3.connect(self.database) as database:
            check = database.execute(ONE_CHECK, {"instrument": instrument, "at": f"{at:%Y-%m-%d %H:%M:%S}"}).lastrowid
            value = (check * 7919 % 2003 - 1001) / 2_000_000.0
            of_all = range(1, REFERENCES + 1)
            rows = [((instrument - 1) * REFERENCES + n, check, int(at.timestamp()), value) for n in of_all]
            database.executemany(ONE_POINT, rows)
        database.close()
        self.made.append(check)
        self.last[instrument] = check
        note("site_set_up", "site:1", at, "Manager")  # any line that a chart heeds

    def must_stand_on(self, page: bytes, instrument: int) -> None:
        """A page without the newest check would be quick for nothing."""
        if f'href="/checks/{self.last[instrument]}/"'.encode() not in page:
            raise SystemExit(f"check {self.last[instrument]} is not on the page")

    def take_back(self) -> None:
        """The plant as it was, but for its ledger: that keeps every line."""
        with sqlite3.connect(self.database) as database:
            for table, column in (("charts_chartpoint", "of_check_id"), ("checks_check", "id")):
                database.executemany(f"DELETE FROM {table} WHERE {column} = ?", [(check,) for check in self.made])
        database.close()


def request_of(path: str, query: str) -> Callable[[], bytes]:
    """A request of a signed-in manager, as a server hands it to the site; each call answers it anew."""
    from django.conf import settings
    from django.test import Client

    from isohume.outlets.site.config.wsgi import application
    from isohume.outlets.site.people.models import Person

    settings.ALLOWED_HOSTS.append("testserver")
    client = Client()
    client.force_login(Person.objects.get(), "django.contrib.auth.backends.ModelBackend")
    cookie = "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())
    asked = {"REQUEST_METHOD": "GET", "PATH_INFO": path, "QUERY_STRING": query, "HTTP_COOKIE": cookie}
    server = {"SERVER_NAME": "testserver", "SERVER_PORT": "80", "SERVER_PROTOCOL": "HTTP/1.1", "SCRIPT_NAME": ""}

    def answered() -> bytes:
        said: list[str] = []
        given = {"wsgi.input": BytesIO(), "wsgi.errors": sys.stderr, "wsgi.url_scheme": "http"}
        answer = application({**server, **asked, **given}, lambda status, *_: said.append(status))
        content = b"".join(answer)
        answer.close()
        if not said[0].startswith("200"):
            raise SystemExit(f"the page answered {said[0]}")
        return content

    return answered


def works_of(folder: Path, later: LaterChecks) -> tuple[dict[str, Work], dict[str, int]]:
    """What is timed for one chart, and how many rows it is about."""
    import duckdb

    from isohume.outlets.site.charts.models import Chart, ChartPoint
    from isohume.outlets.site.charts.rules import rule_of
    from isohume.outlets.site.charts.series import YEAR, look

    store = duckdb.connect(str(folder / "readings.duckdb"), read_only=True)
    chart = Chart.objects.select_related("instrument__site", "site", "product").get(pk=CHART)
    since = END - YEAR
    asked = "SELECT moment, value, holds, check_id FROM readings WHERE chart = ? AND moment BETWEEN ? AND ? ORDER BY 1"
    given = [chart.pk, since.replace(tzinfo=None), END.replace(tzinfo=None)]
    seconds = int(since.timestamp()), int(END.timestamp())
    inside = ChartPoint.objects.filter(chart=chart, at_s__range=seconds).order_by("at_s")
    page = request_of(f"/charts/{chart.pk}/", "span=year")

    def numbers() -> Any:
        return look(chart, rule_of(chart).as_rules(), END, YEAR)

    return {
        BARE: Work(lambda: store.execute(asked, given).fetchall()),
        "the same rows asked of the site": Work(
            lambda: list(inside.values_list("at_s", "value", "within", "of_check_id"))
        ),
        "chart without a page: rules, events, points, limits, signals": Work(numbers, forget),
        NOTHING_KEPT: Work(page, forget),
        CHECKED: Work(page, lambda: later.record(chart.instrument_id)),
        ELSEWHERE: Work(page, lambda: later.record(chart.instrument_id + 1)),
        AGAIN: Work(page, lambda: later.must_stand_on(page(), chart.instrument_id)),
    }, {"year": len(store.execute(asked, given).fetchall()), "phase": len(numbers().points), "bytes": len(page())}


def forget() -> None:
    """Nothing is kept of any chart in this process."""
    from isohume.outlets.site.charts import kept_page, kept_points, series

    kept_page._KEPT.clear()
    kept_points._KEPT.clear()
    series._numbers.cache_clear()


def first_of_a_process(folder: Path) -> float:
    """How long the very first page of a fresh process takes once Django is set up, in a process of its own; median."""
    code = f"from pathlib import Path; from benchmarks.charts import print_first; print_first(Path({str(folder)!r}))"
    runs = [subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True) for _ in range(5)]
    return statistics.median(float(run.stdout) for run in runs)


def print_first(folder: Path) -> None:
    """The time of the first page of this process, in seconds."""
    set_up(folder)
    page = request_of(f"/charts/{CHART}/", "span=year")
    begun = time.perf_counter()
    page()
    print(time.perf_counter() - begun)


def set_up(folder: Path) -> None:
    """Django over the plant's folder, at the plant's last hour."""
    os.environ["ISOHUME_DATA"] = str(folder)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "isohume.outlets.site.config.settings")
    import django
    from django.utils import timezone

    django.setup()
    timezone.now = lambda: END + LAST_HOUR  # the plant's readings end there


def main() -> None:
    """The comparison as a Markdown table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--readings", type=int, default=10_000_000)
    parser.add_argument("--folder", type=Path, default=None, help="an empty folder for the plant, kept")
    given = parser.parse_args(sys.argv[1:] if __name__ == "__main__" else [])
    with tempfile.TemporaryDirectory() as place:
        folder = given.folder or Path(place)
        set_up(folder)
        if (folder / "readings.duckdb").exists():
            from django.core.management import call_command

            call_command("migrate", verbosity=0)  # a folder kept from before
        else:
            made_plant(folder, given.readings)
            columns_of(folder).close()
        import duckdb

        later = LaterChecks(folder)
        try:
            works, counts = works_of(folder, later)
            times = timed(works)
        finally:
            later.take_back()
        print(
            f"{given.readings} readings in the database, {counts['year']} of them a year of one chart, "
            f"{counts['phase']} since the phase began in which that year begins; {os.cpu_count()} cores, "
            f"DuckDB {duckdb.__version__}, medians of {ROUNDS} turns; the answer has {counts['bytes'] // 1000} kB.\n"
        )
        print("| what | by the clock | against the scan | processor | against the scan | wanted |")
        print("|---|---:|---:|---:|---:|---|")
        bare = times[BARE]
        for name, (median, used) in times.items():
            wanted = f"at most {GOAL:g}" if name in WANTED else ""
            both = f"{1e3 * median:.1f} ms | {median / bare[0]:.2f} | {1e3 * used:.1f} ms | {used / bare[1]:.2f}"
            print(f"| {name} | {both} | {wanted} |")
        first = first_of_a_process(folder)
        print(f"| the very first page of a fresh process, after its set-up | {1e3 * first:.0f} ms | | | | |")


if __name__ == "__main__":
    main()

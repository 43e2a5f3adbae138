"""The spool: on disk before anything else, numbered once, all or nothing, kept thirty days after delivery."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.entry import Entry, wire
from isohume.outlets.capture.spool import KEPT_S, Outgoing, Spool
from isohume.outlets.capture.spool_lock import held_alone, is_held

AT = "2026-09-15T09:00:00.000Z"


def start(run: str, number: str = "1") -> Entry:
    return Entry("start", "OW-1", run, AT, {"number": number}, line=f"run {number}")


def reading(run: str, elapsed: str, a_w: str = "0.6500") -> Entry:
    return Entry("reading", "OW-1", run, AT, {"elapsed_s": elapsed, "a_w": a_w})


def end(run: str) -> Entry:
    return Entry("end", "OW-1", run, AT, reason="end line")


def test_numbers_follow_one_another_over_restarts(tmp_path: Path) -> None:
    spool = Spool(tmp_path)
    spool.commit([start("run-000001"), reading("run-000001", "0")], {}, {})
    key = spool.key
    spool.close()
    again = Spool(tmp_path)
    again.commit([end("run-000001")], {}, {})
    out = Outgoing(tmp_path)
    assert (again.key, out.key) == (key, key)
    assert len(key) == 32
    assert [n for n, _ in out.after(0, 10, 10**6)] == [1, 2, 3]
    again.close()
    out.close()


def test_an_entry_on_the_wire_has_the_keys_of_the_contract(tmp_path: Path) -> None:
    """From the contract between agent and site: absent keys are not given, numbers are text."""
    spool, out = Spool(tmp_path), Outgoing(tmp_path)
    spool.commit([start("run-000001"), Entry("unread", "OW-1", "", AT, {}, "x" * 100, "line")], {}, {})
    first, second = (wire(n, body) for n, body in out.after(0, 10, 10**6))
    assert first == {
        "n": 1, "kind": "start", "instrument": "OW-1", "run": "run-000001", "at": AT, "number": "1", "line": "run 1",
    }  # fmt: skip
    assert second["reason"] == f"{'x' * 57}..."  # the site takes sixty characters; the spool keeps them all
    spool.close()
    out.close()


def test_what_was_read_is_known_before_and_after_it_is_written(tmp_path: Path) -> None:
    spool = Spool(tmp_path)
    entries = [start("run-000001", "7"), reading("run-000001", "0"), end("run-000001")]
    for entry in entries:
        spool.remember(entry)
    for _ in range(2):
        known = spool.run("OW-1", "7")
        assert known is not None
        assert (known.key, known.ended) == ("run-000001", "end line")
        assert spool.readings("run-000001") == {"0": "0.6500"}
        assert spool.run("OW-2", "7") is None
        spool.commit(entries, {}, {})
        entries = []
    spool.close()


def test_a_commit_that_fails_leaves_nothing_and_can_be_asked_again(tmp_path: Path) -> None:
    """A full disk: SQLite's own page limit stands for it, and gives the same error."""
    spool = Spool(tmp_path)
    entries = [start("run-000001"), *(reading("run-000001", str(i), "0.6") for i in range(2000))]
    pages = spool._db.execute("PRAGMA page_count").fetchone()[0]
    spool._db.execute(f"PRAGMA max_page_count = {pages + 2}")
    for _ in range(2):
        with pytest.raises(sqlite3.OperationalError, match="full"):
            spool.commit(entries, {"OW-1": {}}, {("OW-1", "a.txt"): {"offset": 9}})
    assert spool.last == 0
    assert spool.files("OW-1") == {}
    spool._db.execute(f"PRAGMA max_page_count = {pages + 10_000}")
    spool.commit(entries, {"OW-1": {}}, {("OW-1", "a.txt"): {"offset": 9}})
    assert spool.last == 2001
    assert spool.files("OW-1") == {"a.txt": {"offset": 9}}
    spool.close()


def test_an_acknowledged_entry_stays_for_thirty_days_and_the_last_run_longer(tmp_path: Path) -> None:
    spool, out = Spool(tmp_path), Outgoing(tmp_path)
    spool.commit([start("run-000001", "1"), reading("run-000001", "0"), end("run-000001")], {}, {})
    spool.commit([start("run-000002", "2"), reading("run-000002", "0"), end("run-000002")], {}, {})
    out.acknowledge(5)
    assert len(out.after(0, 10, 10**6)) == 6
    spool._db.execute("UPDATE delivered SET at = ?", (time.time() - KEPT_S - 60,))
    out.acknowledge(6)
    assert [n for n, _ in out.after(0, 10, 10**6)] == [4, 5, 6]  # by them a repeat after a long pause is known
    assert out.marks() == (6, 6)
    spool.close()
    out.close()


def test_a_request_is_bounded_in_entries_and_bytes(tmp_path: Path) -> None:
    spool, out = Spool(tmp_path), Outgoing(tmp_path)
    spool.commit([Entry("unread", "OW-1", "", AT, {}, "", "x" * 1000) for _ in range(50)], {}, {})
    assert len(out.after(0, 20, 10**6)) == 20
    assert len(out.after(0, 50, 5000)) == 4
    assert len(out.after(0, 50, 10)) == 1
    spool.close()
    out.close()


def test_one_writer_a_spool(tmp_path: Path) -> None:
    Spool(tmp_path).close()
    assert not is_held(tmp_path)
    with held_alone(tmp_path):
        assert is_held(tmp_path)
        with pytest.raises(InputError, match="no other isohume capture uses"), held_alone(tmp_path):
            pass
    assert not is_held(tmp_path)


def test_a_spool_of_another_format_is_refused(tmp_path: Path) -> None:
    spool = Spool(tmp_path)
    spool._db.execute("UPDATE mark SET format = '9'")
    spool.close()
    with pytest.raises(InputError, match="a spool of format 2; this one is of format 9"):
        Spool(tmp_path)


KILLED = """
import os, signal, sys
from pathlib import Path
from isohume.outlets.capture.entry import Entry
from isohume.outlets.capture.spool import Spool
spool = Spool(Path(sys.argv[1]))
n = spool.last
while True:
    entries = [Entry("unread", "OW-1", "", "t", {}, "", str(n + i)) for i in range(3)]
    spool.commit(entries, {}, {("OW-1", "f"): {"at": n + 3}})
    n += 3
    print(n, flush=True)
"""


def test_killed_between_commits_entries_and_marks_agree(tmp_path: Path) -> None:
    for round_ in range(4):
        child = subprocess.Popen([sys.executable, "-c", KILLED, str(tmp_path)], stdout=subprocess.PIPE, text=True)
        assert child.stdout is not None
        acknowledged = 0
        for _ in range(5 + round_):
            acknowledged = int(child.stdout.readline())
        child.kill()
        child.wait()
        child.stdout.close()
        spool = Spool(tmp_path)
        lines = [json.loads(row[0])["line"] for row in spool._db.execute("SELECT body FROM entry ORDER BY n")]
        assert lines == [str(i) for i in range(len(lines))]
        assert len(lines) == spool.last >= acknowledged
        assert spool.files("OW-1")["f"] == {"at": spool.last}
        spool.close()

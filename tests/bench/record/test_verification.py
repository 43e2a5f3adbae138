"""Verifying reads and nothing else: whatever state the store was left in, no file is made, changed or repaired."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from isohume.bench.record.head import HEAD_FILE
from isohume.bench.record.store import open_store
from isohume.bench.record.tables import DATABASE
from isohume.bench.record.verification import Verification, verify
from isohume.foundation.quantity.errors import InputError

GOOD = Verification(entries=13, records=3, verified=True, first_bad=None)


def left_open(filled: Path, place: Path) -> Path:
    """The store as a kill leaves it: an event more in the log, database and index files as they were in use."""
    with open_store(filled) as store:
        store.append("check", "OW-1", b"{}")
        shutil.copytree(filled, place)
    return place


def files(folder: Path) -> dict[str, bytes]:
    """Every file with its content, SQLite's scratch index left out (it holds no evidence)."""
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.endswith("-shm")}


@contextmanager
def unwritable(folder: Path) -> Iterator[None]:
    """The folder cannot be written; for root, whom no mode stops, as somebody else."""
    owner = os.geteuid()
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)
    if owner == 0:
        os.seteuid(65534)
    try:
        yield
    finally:
        if owner == 0:
            os.seteuid(owner)
        folder.chmod(0o755)


@pytest.fixture
def reachable() -> Iterator[Path]:
    """A temporary folder that other users can reach, unlike pytest's own."""
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o755)
        yield Path(place)


def test_a_sound_store(filled: Path) -> None:
    before = files(filled)
    assert verify(filled) == verify(str(filled)) == GOOD
    assert files(filled) == before
    assert {path.name for path in filled.iterdir()} == {DATABASE, HEAD_FILE}


def test_an_empty_store(tmp_path: Path) -> None:
    open_store(tmp_path / "data").close()
    assert verify(tmp_path / "data") == Verification(0, 0, True, None)


def test_a_store_in_use(filled: Path) -> None:
    with open_store(filled) as store, store.transaction() as transaction:
        transaction.append("check", "not committed", b"")
        assert verify(filled) == GOOD


def test_a_log_left_by_a_kill_is_read_and_kept(filled: Path, tmp_path: Path) -> None:
    killed = left_open(filled, tmp_path / "killed")
    before = files(killed)
    assert before[f"{DATABASE}-wal"]
    assert (verify(killed).entries, verify(killed).verified) == (14, True)
    assert files(killed) == before


def test_a_log_without_its_index_is_read_and_nothing_is_made(filled: Path, tmp_path: Path) -> None:
    killed = left_open(filled, tmp_path / "killed")
    (killed / f"{DATABASE}-shm").unlink()
    before = files(killed)
    assert (verify(killed).entries, verify(killed).verified) == (14, True)
    assert files(killed) == before
    assert not (killed / f"{DATABASE}-shm").exists()


def test_a_log_that_was_lost_is_missed(filled: Path, tmp_path: Path) -> None:
    killed = left_open(filled, tmp_path / "killed")
    (killed / f"{DATABASE}-wal").unlink()
    found = verify(killed)
    assert found.first_bad is not None
    assert (found.first_bad.kind, found.first_bad.id) == ("ledger", "14")


def test_a_folder_that_cannot_be_written(filled: Path, reachable: Path) -> None:
    folder = reachable / "archive"
    shutil.copytree(filled, folder)
    with unwritable(folder):
        assert verify(folder) == GOOD
        with pytest.raises(InputError, match="a folder that can be written"):
            open_store(folder)


@pytest.mark.parametrize("keep_index", [True, False])
def test_a_log_in_a_folder_that_cannot_be_written(filled: Path, reachable: Path, keep_index: bool) -> None:
    folder = left_open(filled, reachable / "archive")
    if not keep_index:
        (folder / f"{DATABASE}-shm").unlink()
    with unwritable(folder):
        found = verify(folder)
    assert (found.entries, found.verified) == (14, True)


def test_a_writer_at_work_meanwhile(filled: Path) -> None:
    """Checkpoints under a reading without locks must not look like tampering."""
    code = (
        "import sys; from isohume.bench.record.store import open_store\n"
        "for number in range(60):\n"
        "    with open_store(sys.argv[1]) as store: store.append('check', 'OW-1', b'x' * 900)\n"
    )
    writer = subprocess.Popen([sys.executable, "-c", code, str(filled)])
    seen = []
    while writer.poll() is None:
        seen.append(verify(filled))
    assert writer.returncode == 0
    assert [found.first_bad for found in seen if not found.verified] == []
    assert verify(filled).entries == 73


@pytest.mark.parametrize("name", ["nothing here", DATABASE, "empty folder"])
def test_a_folder_without_a_store_is_bad_input(tmp_path: Path, name: str) -> None:
    place = tmp_path / "place"
    if name == "empty folder":
        place.mkdir()
    if name == DATABASE:  # a database of something else
        place.mkdir()
        with closing(sqlite3.connect(place / DATABASE)) as connection:
            connection.execute("CREATE TABLE other (x)")
    with pytest.raises(InputError, match="a folder with a store"):
        verify(place)


def test_a_kill_between_insert_and_commit_leaves_nothing(filled: Path) -> None:
    code = (
        "import sys, time; from isohume.bench.record.store import open_store\n"
        "with open_store(sys.argv[1]) as store, store.transaction() as transaction:\n"
        # more than SQLite's page cache holds, so that uncommitted lines are already in the log
        "    transaction.append_many([('run', 'x', b'x' * 5000)] * 2000)\n"
        "    transaction.freeze(lambda i, at: {'id': i, 'issued_at': at}, 'SB-9', '9')\n"
        "    print('inserted', flush=True); sys.stdin.read()\n"
    )
    command = [sys.executable, "-c", code, str(filled)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == b"inserted\n"
        child.send_signal(signal.SIGKILL)
    assert verify(filled) == GOOD
    with open_store(filled) as store:
        assert store.append("check", "OW-1", b"").seq == 14
        assert [record.id for record in store.records_of_lot("SB-9")] == []
    assert verify(filled).entries == 14


def test_processes_that_write_at_the_same_time(tmp_path: Path) -> None:
    """Four processes make the same store and append in both ways: every line is there once, in one chain."""
    code = (
        "import sys; from isohume.bench.record.store import open_store\n"
        "with open_store(sys.argv[1]) as store:\n"
        "    for number in range(25):\n"
        "        store.append('single', f'{sys.argv[2]}-{number}', b'')\n"
        "        with store.transaction() as transaction:\n"
        "            transaction.append('pair', f'{sys.argv[2]}-{number}', b'')\n"
        "            transaction.freeze(lambda i, at: {'id': i, 'issued_at': at}, sys.argv[2], f'{number}')\n"
    )
    folder = tmp_path / "data"
    writers = [subprocess.Popen([sys.executable, "-c", code, str(folder), name]) for name in "ABCD"]
    assert [writer.wait() for writer in writers] == [0, 0, 0, 0]
    found = verify(folder)
    assert (found.entries, found.records, found.verified) == (300, 100, True)
    with open_store(folder) as store:
        expected = {f"{name}-{number}" for name in "ABCD" for number in range(25)}
        assert {line.ref for line in store.events("single")} == expected
        assert {line.ref for line in store.events("pair")} == expected
        assert [line.ref for line in store.events("record")] == [f"R{number:06d}" for number in range(1, 101)]

"""The evidence in a transaction somebody else began: compared with the head, committed together, head moved after."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from isohume.bench.record.head import HEAD_FILE, HeadFile, open_head, read_head
from isohume.bench.record.store import open_store
from isohume.bench.record.tables import DATABASE
from isohume.bench.record.transaction import joined
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import IntegrityError


def clock() -> str:
    """A clock that stands still."""
    return "2026-11-24T16:00:00+00:00"


@contextmanager
def begun(folder: Path) -> Iterator[sqlite3.Connection]:
    """A connection as a web framework opens it, with a table of its own, in a transaction it began."""
    with closing(sqlite3.connect(folder / DATABASE, isolation_level=None, timeout=30.0)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("CREATE TABLE IF NOT EXISTS register_lot (id TEXT)")
        connection.execute("BEGIN IMMEDIATE")
        yield connection


def lots(folder: Path) -> list[str]:
    """What stands in the framework's own table."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        return [row[0] for row in connection.execute("SELECT id FROM register_lot")]


def sign_a_lot(connection: sqlite3.Connection, head: HeadFile) -> tuple[int, str]:
    """A row of the framework's table, a line, a signature and a file together; returns where the ledger then stands."""
    transaction = joined(connection, head, clock)
    connection.execute("INSERT INTO register_lot VALUES ('SB-1')")
    transaction.append("lot", "SB-1", b"{}")
    transaction.sign(
        "R000003", person="mara", printed_name="Mara Ågren", role="qa", meaning="closed", act="a", of=1, statement=""
    )
    transaction.keep_file("joined.csv", b"joined")
    return transaction.head


def test_a_change_and_its_evidence_are_one_commit(filled: Path) -> None:
    with closing(open_head(filled)) as head, begun(filled) as connection:
        last = sign_a_lot(connection, head)
        connection.execute("COMMIT")
        head.write(*last)
        assert head.read() == last
    assert lots(filled) == ["SB-1"]
    found = verify(filled)
    assert (found.verified, found.entries, found.signatures, found.files) == (True, 16, 1, 1)


def test_what_is_rolled_back_leaves_nothing(filled: Path) -> None:
    with closing(open_head(filled)) as head, begun(filled) as connection:
        sign_a_lot(connection, head)
        connection.execute("ROLLBACK")
    assert lots(filled) == []
    found = verify(filled)
    assert (found.verified, found.entries, found.signatures, found.files) == (True, 13, 0, 0)


def test_a_connection_that_began_nothing_is_refused(filled: Path) -> None:
    with closing(open_head(filled)) as head, begun(filled) as connection:
        connection.execute("ROLLBACK")
        with pytest.raises(IntegrityError, match="none was begun"):
            joined(connection, head, clock)


def test_a_head_that_disagrees_is_refused(filled: Path) -> None:
    (filled / HEAD_FILE).write_text(f"{13:015d} {'a' * 64}\n", encoding="ascii")
    match = "does not continue from its head file"
    with closing(open_head(filled)) as head, begun(filled) as connection, pytest.raises(IntegrityError, match=match):
        joined(connection, head, clock)


def test_a_store_that_lost_its_head_is_refused(filled: Path) -> None:
    (filled / HEAD_FILE).unlink()
    with pytest.raises(IntegrityError, match="the head file is missing"):
        open_head(filled)


def test_a_head_that_was_not_moved_yet_is_no_obstacle(filled: Path) -> None:
    """Between a commit and its head another process may write, and its head may come first."""
    with closing(open_head(filled)) as slow, closing(open_head(filled)) as quick:
        with begun(filled) as connection:
            late = sign_a_lot(connection, slow)
            connection.execute("COMMIT")
        assert verify(filled).verified
        with begun(filled) as connection:
            transaction = joined(connection, quick, clock)
            transaction.append("lot", "SB-2", b"{}")
            connection.execute("COMMIT")
            quick.write(*transaction.head)
        slow.write(*late)
        assert slow.read() == quick.read() == transaction.head
    assert verify(filled).verified
    with open_store(filled) as store:
        assert store.append("lot", "SB-3", b"{}").seq == 18


def test_a_kill_after_the_commit_and_before_the_head(filled: Path) -> None:
    code = (
        "import sqlite3, sys; from pathlib import Path\n"
        "from isohume.bench.record import joined, open_head\n"
        "folder = Path(sys.argv[1]); head = open_head(folder)\n"
        "connection = sqlite3.connect(folder / 'isohume.sqlite3', isolation_level=None)\n"
        "connection.execute('PRAGMA foreign_keys = ON'); connection.execute('BEGIN IMMEDIATE')\n"
        "transaction = joined(connection, head, lambda: '2026-11-24T16:00:00+00:00')\n"
        "transaction.sign('R000001', person='mara', printed_name='Mara', role='qa', meaning='closed', act='a', of=1,\n"
        "                 statement='')\n"
        "transaction.keep_file('a.csv', b'a')\n"
        "if sys.argv[2] == 'after': connection.execute('COMMIT')\n"
        "print('here', flush=True); sys.stdin.read()\n"
    )
    for when, entries in (("before", 13), ("after", 15)):
        command = [sys.executable, "-c", code, str(filled), when]
        with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as child:
            assert child.stdout is not None
            assert child.stdout.readline() == b"here\n"
            child.send_signal(signal.SIGKILL)
        found = verify(filled)
        assert (found.verified, found.entries, found.signatures + found.files) == (True, entries, entries - 13)
        head = read_head(filled)
        assert head is not None
        assert head.seq == 13
    with open_store(filled) as store:
        assert store.append("lot", "SB-3", b"{}").seq == 16
        assert [signature.seq for signature in store.signatures_of("R000001")] == [14]


def test_threads_that_share_a_head_and_processes_that_have_their_own(filled: Path) -> None:
    """Heads are written after the lock is released, in any order: the last line is what the head knows in the end."""
    code = (
        "import sys; from isohume.bench.record.store import open_store\n"
        "with open_store(sys.argv[1]) as store:\n"
        "    for number in range(40): store.append('process', str(number), b'')\n"
    )
    failed: list[BaseException] = []

    def write(head: HeadFile, name: str) -> None:
        try:
            for number in range(20):
                with begun(filled) as connection:
                    transaction = joined(connection, head, clock)
                    transaction.append(name, str(number), b"")
                    connection.execute("COMMIT")
                head.write(*transaction.head)
        except BaseException as error:
            failed.append(error)
            raise

    others = [subprocess.Popen([sys.executable, "-c", code, str(filled)]) for _ in range(2)]
    with closing(open_head(filled)) as head:
        threads = [threading.Thread(target=write, args=(head, f"thread-{number}")) for number in range(3)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert [other.wait() for other in others] == [0, 0]
    assert failed == []
    found = verify(filled)
    assert (found.verified, found.entries) == (True, 13 + 3 * 20 + 2 * 40)
    last = read_head(filled)
    assert last is not None
    assert last.seq == found.entries

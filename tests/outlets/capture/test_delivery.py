"""Delivery: in order, until the site holds it; away, behind, refusing, or put back from an older copy."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from proofs.capture_site import open_database, taken
from tests.outlets.capture.conftest import TOKEN

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture import delivery as module
from isohume.outlets.capture.clock import Clock
from isohume.outlets.capture.delivery import Delivery
from isohume.outlets.capture.entry import Entry
from isohume.outlets.capture.spool import Outgoing, Spool
from isohume.outlets.capture.status import read_status
from isohume.outlets.capture.token_file import read_token
from isohume.outlets.capture.wire import Wire, site_address


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Waits are short in a test."""
    for name in ("EVERY_S", "FIRST_WAIT_S", "LONGEST_WAIT_S"):
        monkeypatch.setattr(module, name, 0.02)


def filled(folder: Path, count: int, first: int = 0) -> Spool:
    spool = Spool(folder)
    lines = [Entry("unread", "OW-1", "", "2026-09-15T09:00:00.000Z", {}, "", str(first + i)) for i in range(count)]
    spool.commit(lines, {}, {})
    return spool


@contextmanager
def delivering(spool: Path, address: str, token_file: Path) -> Iterator[list[str]]:
    said: list[str] = []
    stop = threading.Event()
    one = Delivery(spool, Wire(address, timeout=2), token_file, Clock(), said.append)
    thread = threading.Thread(target=one.run, args=(stop,))
    thread.start()
    try:
        yield said
    finally:
        stop.set()
        one.news.set()
        thread.join()


def until(true: Callable[[], bool], seconds: float = 20.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.01)


def lines(database: Path) -> list[str]:
    return [entry["line"] for entry in taken(database)]


def test_all_is_brought_in_order_in_requests_of_at_most_two_thousand(
    tmp_path: Path, site: Any, token_file: Path
) -> None:
    spool = filled(tmp_path / "spool", 4500)
    with site(tmp_path / "site.db") as server, delivering(spool.folder, server.address, token_file):
        until(lambda: len(taken(server.database)) == 4500)
        assert server.requests == 3
        spool.commit([Entry("unread", "OW-1", "", "t", {}, "", "4500")], {}, {})
        until(lambda: len(taken(server.database)) == 4501)
    assert lines(tmp_path / "site.db") == [str(i) for i in range(4501)]
    status = read_status(spool.folder)
    assert (status.waiting, status.refused, status.delivery) == (0, "", "delivers")
    spool.close()


def test_a_site_that_is_away_is_nothing_special(tmp_path: Path, site: Any, token_file: Path) -> None:
    database, spool = tmp_path / "site.db", filled(tmp_path / "spool", 10)
    with site(database) as server:
        port = server.server_address[1]
    with delivering(spool.folder, f"http://127.0.0.1:{port}", token_file) as said:
        until(lambda: bool(said))
        assert "Connection refused" in said[0]
        time.sleep(0.2)
        assert len(said) == 1  # told once
        assert read_status(spool.folder).waiting == 10
        with site(database, port):
            until(lambda: len(taken(database)) == 10)
            until(lambda: len(said) == 2)
    assert said[1].startswith("the site takes entries again")
    spool.close()


@pytest.mark.parametrize(("count", "forgotten"), [(10, 4), (4500, 1)])
def test_an_answer_that_was_lost_doubles_nothing(
    tmp_path: Path, site: Any, token_file: Path, count: int, forgotten: int
) -> None:
    """The site took the entries; the agent was killed before it heard so."""
    spool = filled(tmp_path / "spool", count)
    with site(tmp_path / "site.db") as server:
        with delivering(spool.folder, server.address, token_file):
            until(lambda: read_status(spool.folder).waiting == 0)
        spool._db.execute("UPDATE mark SET acknowledged = ?", (forgotten,))
        with delivering(spool.folder, server.address, token_file):
            until(lambda: read_status(spool.folder).waiting == 0)
    assert lines(tmp_path / "site.db") == [str(i) for i in range(count)]
    spool.close()


def test_a_site_put_back_from_an_older_copy_is_brought_the_rest_again(
    tmp_path: Path, site: Any, token_file: Path
) -> None:
    database, spool = tmp_path / "site.db", filled(tmp_path / "spool", 10)
    with site(database) as server:
        with delivering(spool.folder, server.address, token_file):
            until(lambda: read_status(spool.folder).waiting == 0)
        db = open_database(database)
        db.execute("DELETE FROM taken WHERE n > 3")
        db.execute("UPDATE spool SET last = 3")
        spool.commit([Entry("unread", "OW-1", "", "t", {}, "", "10")], {}, {})
        with delivering(spool.folder, server.address, token_file) as said:
            until(lambda: len(taken(database)) == 11)
        db.close()
    assert lines(database) == [str(i) for i in range(11)]
    assert "the site holds entries up to 3: going on from 4" in said
    spool.close()


def test_a_spool_put_back_from_an_older_copy_is_refused_not_swallowed(
    tmp_path: Path, site: Any, token_file: Path
) -> None:
    spool = filled(tmp_path / "spool", 5)
    with site(tmp_path / "site.db") as server:
        db = open_database(server.database)
        db.execute("INSERT INTO spool VALUES (?, 12)", (spool.key,))
        db.close()
        with delivering(spool.folder, server.address, token_file) as said:
            until(lambda: bool(said))
    assert said[0].startswith("refused: the site holds entry 12 of this spool, which has only 5")
    assert read_status(spool.folder).refused
    assert read_status(spool.folder).waiting == 5
    spool.close()


def test_an_entry_that_the_site_refuses_stays_and_is_shown(tmp_path: Path, site: Any, token_file: Path) -> None:
    spool, known = filled(tmp_path / "spool", 5), {"OW-2"}
    wrong = {"error": "instrument: read 'OW-1'; allowed: an instrument of the plant", "field": "instrument"}
    unknown = site(tmp_path / "site.db", refuse=lambda entry: None if entry["instrument"] in known else wrong)
    with unknown as server, delivering(spool.folder, server.address, token_file) as said:
        until(lambda: bool(said))
        assert said[0] == f"refused (422): entry 1: {wrong['error']}"
        assert (read_status(spool.folder).refused, read_status(spool.folder).waiting) == (said[0], 5)
        known.add("OW-1")  # somebody registers it
        until(lambda: len(taken(server.database)) == 5)
        until(lambda: read_status(spool.folder).refused == "")
    spool.close()


def test_a_token_that_is_not_known_is_told_and_never_printed(tmp_path: Path, site: Any, token_file: Path) -> None:
    token_file.write_text("some-other-token-0123456789", encoding="ascii")
    spool = filled(tmp_path / "spool", 1)
    with site(tmp_path / "site.db") as server, delivering(spool.folder, server.address, token_file) as said:
        until(lambda: bool(said))
        token_file.write_text(TOKEN, encoding="ascii")  # a new one is taken up without a restart
        until(lambda: len(taken(server.database)) == 1)
    assert said[0] == "refused (401): the token is unknown or revoked"
    kept = b"".join(path.read_bytes() for path in spool.folder.iterdir())
    assert b"some-other" not in kept
    assert not any("some-other" in line or TOKEN in line for line in said)
    spool.close()


def test_a_token_that_others_may_read_is_refused(token_file: Path) -> None:
    assert read_token(token_file) == TOKEN
    token_file.chmod(0o644)
    with pytest.raises(InputError, match="mode 600") as refused:
        read_token(token_file)
    assert TOKEN not in str(refused.value)


def test_a_connection_that_the_site_closed_meanwhile_is_no_news(tmp_path: Path, site: Any, token_file: Path) -> None:
    """Servers close connections that say nothing for a while; nobody is told, and nothing waits."""
    database, spool = tmp_path / "site.db", filled(tmp_path / "spool", 1)
    with site(database) as server:
        line = Wire(server.address)
        said: list[str] = []
        one = Delivery(spool.folder, line, token_file, Clock(), said.append)
        one.run(threading.Event(), lambda: True)
        assert line._connection is None
        body = {"spool": spool.key, "entries": [{"n": 1, "kind": "unread"}]}
        assert line.post(TOKEN, body, f"{spool.key}:1-1").status == 200
        assert line._connection is not None
        line._connection.sock.shutdown(2)
        assert line.post(TOKEN, body, f"{spool.key}:1-1").status == 200
        line.close()
    assert said == ["delivers"]
    spool.close()


def test_once_drained_it_ends_when_all_is_delivered(tmp_path: Path, site: Any, token_file: Path) -> None:
    spool = filled(tmp_path / "spool", 3)
    with site(tmp_path / "site.db") as server:
        one = Delivery(spool.folder, Wire(server.address), token_file, Clock(), lambda line: None)
        one.run(threading.Event(), lambda: True)
        assert len(taken(server.database)) == 3
    out = Outgoing(spool.folder)
    assert out.marks() == (3, 3)
    out.close()
    spool.close()


@pytest.mark.parametrize(
    "text", ["bench.example", "ftp://x", "http://", "http://a:99999", "https://u:p@x", "http://x?y"]
)
def test_no_address_of_a_site(text: str) -> None:
    with pytest.raises(InputError, match="the site's address"):
        site_address(text)


def test_a_network_that_others_may_listen_on_is_known() -> None:
    assert Wire("http://bench.example:8765/").in_the_clear
    assert not Wire("https://bench.example").in_the_clear
    assert not Wire("http://127.0.0.1:8765").in_the_clear

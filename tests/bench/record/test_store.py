"""The store: what is written together, found again, and refused."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from isohume.bench.record.head import HEAD_FILE, Head, read_head
from isohume.bench.record.store import Store, open_store
from isohume.bench.record.tables import DATABASE, GENESIS
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError, IntegrityError

AT = "2026-11-24T15:42:10+00:00"


def clock() -> str:
    """A clock that stands still."""
    return AT


def content(record_id: str, issued_at: str) -> dict[str, Any]:
    """The smallest content that names itself."""
    return {"id": record_id, "issued_at": issued_at}


def test_lines_are_numbered_chained_and_stamped(tmp_path: Path) -> None:
    with open_store(tmp_path / "data", clock=clock) as store:
        with store.transaction() as transaction:
            first = transaction.append("check", "OW-1", b"{}")
            second = transaction.append("check", "OW-2", b"\x00\xff")
        third = store.append("check", "OW-3", b"")
        fourth = store.append("note", "Ü", b"x")
        assert list(store.events()) == [first, second, third, fourth]
        assert list(store.events("note")) == [fourth]
    assert [line.seq for line in (first, second, third, fourth)] == [1, 2, 3, 4]
    assert first.previous == GENESIS
    assert (second.previous, third.previous, fourth.previous) == (first.digest, second.digest, third.digest)
    assert (first.at, second.payload) == (AT, b"\x00\xff")


def test_the_clock_is_utc_with_its_offset(tmp_path: Path) -> None:
    before = datetime.now(UTC) - timedelta(seconds=1)
    with open_store(tmp_path / "data") as store:
        written = datetime.fromisoformat(store.append("check", "OW-1", b"").at)
    assert written.utcoffset() == timedelta(0)
    assert before <= written <= datetime.now(UTC)


def test_many_lines_in_one_transaction_continue_the_chain(tmp_path: Path) -> None:
    with open_store(tmp_path / "data") as store:
        store.append("check", "OW-1", b"")
        with store.transaction() as transaction:
            places = transaction.append_many(("run", f"P{number}", b"%d" % number) for number in range(700))
            last = transaction.append("run", "after", b"")
        assert (places, last.seq) == (range(2, 702), 702)
        assert [line.ref for line in store.events("run")] == [f"P{number}" for number in range(700)] + ["after"]
    assert verify(tmp_path / "data").verified


def test_a_record_and_its_line_are_written_together(tmp_path: Path) -> None:
    with open_store(tmp_path / "data", clock=clock) as store:
        with store.transaction() as transaction:
            frozen = transaction.freeze(content, "SB-1", "11" * 32)
        line = next(store.events("record"))
        assert frozen.body == b'{"id":"R000001","issued_at":"2026-11-24T15:42:10+00:00"}'
        said = {"record": "R000001", "lot": "SB-1", "inputs_digest": "11" * 32, "digest": frozen.digest}
        assert (line.ref, line.seq, json.loads(line.payload)) == ("R000001", frozen.seq, said)
        assert store.record("R000001") == frozen
        assert frozen.content == {"id": "R000001", "issued_at": AT}


def test_records_are_found_by_id_lot_and_inputs(filled: Path) -> None:
    with open_store(filled) as store:
        assert [record.id for record in store.records_of_lot("Los «1»")] == ["R000002"]
        found = store.find_by_inputs(f"{2:064x}")
        assert found is not None
        assert (found.id, found.seq, found.lot) == ("R000003", 12, "Los «2»")
        assert store.find_by_inputs("none") is None
        assert store.record("R000009") is None


def test_the_same_inputs_are_frozen_once(tmp_path: Path) -> None:
    with open_store(tmp_path / "data") as store:
        first, new = store.freeze_once(content, "SB-1", "aa")
        again, not_new = store.freeze_once(content, "SB-1", "aa")
        other, _ = store.freeze_once(content, "SB-1", "bb")
        assert (new, not_new) == (True, False)
        assert again == first
        assert [record.id for record in store.records_of_lot("SB-1")] == ["R000001", other.id] == ["R000001", "R000002"]


def test_an_exception_leaves_nothing_behind(filled: Path) -> None:
    def changes_its_mind() -> None:
        with open_store(filled) as store, store.transaction() as transaction:
            transaction.append("note", "x", b"")
            transaction.freeze(content, "SB-9", "99")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        changes_its_mind()
    found = verify(filled)
    assert (found.entries, found.records, found.verified) == (13, 3, True)
    with open_store(filled) as store:
        assert store.append("note", "x", b"").seq == 14


def test_content_that_names_another_id_is_refused(tmp_path: Path) -> None:
    with open_store(tmp_path / "data") as store:
        for wrong in ({"id": "R000007", "issued_at": AT}, {"id": "R000001", "issued_at": "yesterday"}):
            with pytest.raises(IntegrityError, match="names another id"), store.transaction() as transaction:
                transaction.freeze(lambda record_id, at, wrong=wrong: wrong, "SB-1", "aa")
        assert store.append("check", "OW-1", b"").seq == 1


@pytest.mark.parametrize(("kind", "ref"), [("record", "R000001"), ("", "x"), ("check", ""), ("che\0ck", "x")])
def test_lines_that_say_too_little_are_refused(tmp_path: Path, kind: str, ref: str) -> None:
    with open_store(tmp_path / "data") as store:
        with pytest.raises(InputError):
            store.append(kind, ref, b"")
        with pytest.raises(InputError), store.transaction() as transaction:
            transaction.append(kind, ref, b"")


def test_a_batch_cannot_slip_in_a_record_line(tmp_path: Path) -> None:
    with open_store(tmp_path / "data") as store:
        with pytest.raises(sqlite3.IntegrityError, match="a record line has its record"), store.transaction() as tx:
            tx.append_many([("check", "OW-1", b""), ("record", "R000001", b"{}")])
        assert list(store.events()) == []


def test_a_line_after_somebody_else_s_is_placed_anew(tmp_path: Path) -> None:
    with open_store(tmp_path / "data") as one, open_store(tmp_path / "data") as other:
        places = [store.append("check", "OW-1", b"").seq for store in (one, one, other, one, other, other, one)]
    assert places == [1, 2, 3, 4, 5, 6, 7]
    assert verify(tmp_path / "data").verified


def test_a_line_inside_a_transaction_of_the_same_store_is_refused(tmp_path: Path) -> None:
    with open_store(tmp_path / "data") as store:
        store.append("check", "OW-1", b"")
        with pytest.raises(sqlite3.OperationalError, match="within a transaction"), store.transaction():
            store.append("check", "OW-1", b"")


def test_the_head_follows_the_ledger(filled: Path) -> None:
    with open_store(filled) as store:
        last = list(store.events())[-1]
        assert read_head(filled) == Head(13, last.digest)
        line = store.append("check", "OW-1", b"")
        assert read_head(filled) == Head(14, line.digest)


def test_a_store_is_durable_by_its_settings(filled: Path) -> None:
    with open_store(filled) as store:
        asked = [store._connection.execute(f"PRAGMA {name}").fetchone()[0] for name in SETTINGS]
    assert dict(zip(SETTINGS, asked, strict=True)) == SETTINGS


SETTINGS = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 30000}


def test_no_store_is_made_where_none_is_wanted(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a folder with a store"):
        open_store(tmp_path / "data", create=False)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("x", encoding="utf-8")
    with pytest.raises(InputError, match="a folder that can be written"):
        open_store(tmp_path / "data")


def test_a_file_that_is_no_database_is_refused_and_kept(tmp_path: Path) -> None:
    (tmp_path / DATABASE).write_bytes(b"not a database, but long enough to be read as one" * 50)
    with pytest.raises(IntegrityError, match="cannot be read"):
        open_store(tmp_path)
    assert (tmp_path / DATABASE).read_bytes().startswith(b"not a database")


def cut_the_tail(folder: Path) -> None:
    """Remove the last line as somebody with a shell would, guards put back."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        guard = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'ledger_refuses_delete'").fetchone()[0]
        connection.executescript(f"DROP TRIGGER ledger_refuses_delete; DELETE FROM ledger WHERE seq = 13; {guard};")


def renumber(folder: Path) -> None:
    """Remove the last line and set the numbering back."""
    cut_the_tail(folder)
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.executescript("UPDATE sqlite_sequence SET seq = 12 WHERE name = 'ledger'")


def rewrite_head(folder: Path) -> None:
    """Let the head know another digest."""
    (folder / HEAD_FILE).write_text(f"{13:015d} {'a' * 64}\n", encoding="ascii")


def lose_head(folder: Path) -> None:
    """Remove the head file."""
    (folder / HEAD_FILE).unlink()


def scribble_head(folder: Path) -> None:
    """Something else in the head file."""
    (folder / HEAD_FILE).write_bytes(b"thirteen")


@pytest.mark.parametrize("damage", [cut_the_tail, renumber, rewrite_head, lose_head, scribble_head])
def test_nothing_is_appended_over_a_trace_of_tampering(filled: Path, damage: Callable[[Path], None]) -> None:
    damage(filled)
    before = (filled / DATABASE).read_bytes()

    def write() -> None:
        with open_store(filled) as store:
            store.append("check", "OW-1", b"")

    with pytest.raises(IntegrityError, match="nothing was written; run isohume verify"):
        write()
    assert (filled / DATABASE).read_bytes() == before
    assert not verify(filled).verified


def test_a_head_that_lags_after_a_kill_is_no_obstacle(filled: Path) -> None:
    with open_store(filled) as store:
        ninth = list(store.events())[8]
    (filled / HEAD_FILE).write_text(f"{9:015d} {ninth.digest}\n", encoding="ascii")
    assert verify(filled).verified
    with open_store(filled) as store:
        assert store.append("check", "OW-1", b"").seq == 14
    assert verify(filled).entries == 14


def test_a_store_whose_making_was_cut_short_is_finished(tmp_path: Path) -> None:
    (tmp_path / HEAD_FILE).write_bytes(b"")
    (tmp_path / DATABASE).write_bytes(b"")
    with pytest.raises(InputError):
        verify(tmp_path)
    with open_store(tmp_path) as store:
        assert store.append("check", "OW-1", b"").seq == 1
    assert verify(tmp_path).verified


def test_a_record_without_its_line_is_not_handed_out(filled: Path) -> None:
    with closing(sqlite3.connect(filled / DATABASE)) as connection:
        guard = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'ledger_refuses_delete'").fetchone()[0]
        connection.executescript(f"DROP TRIGGER ledger_refuses_delete; DELETE FROM ledger WHERE seq = 4; {guard};")
    with open_store(filled) as store, pytest.raises(IntegrityError, match="R000001 has no ledger line"):
        store.record("R000001")


def test_a_record_changed_in_the_database_is_not_handed_out(filled: Path) -> None:
    with closing(sqlite3.connect(filled / DATABASE)) as connection:
        guard = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'record_refuses_update'").fetchone()[0]
        connection.executescript(f"DROP TRIGGER record_refuses_update; UPDATE record SET body = x'7b7d'; {guard};")

    def ask(store: Store) -> None:
        store.find_by_inputs(f"{1:064x}")

    with open_store(filled) as store, pytest.raises(IntegrityError, match="R000002 is not what was frozen"):
        ask(store)

"""Can the record be proved? Every digest recomputed, every guard compared, nothing written.

What this proves: no line, record, signature or kept file was changed, removed, swapped or added outside the chain
since it was written, by anyone who did not also rewrite everything after it, the head file and every copy. What it
cannot prove alone: that the whole ledger was not rewritten from some line on. For that, compare a digest printed on a
certificate, or a copy of the head kept elsewhere.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Container
from dataclasses import dataclass, replace
from pathlib import Path

from isohume.bench.record.bag import fault_of_bag, is_bag
from isohume.bench.record.chain import Walked, walk
from isohume.bench.record.head import EMPTY, HEAD_FILE, Head, read_head
from isohume.bench.record.reading_only import log_state, opened_to_read
from isohume.bench.record.rows_of_lines import Bad
from isohume.bench.record.tables import DATABASE, DIGEST_OF_LINE, HIGHEST_SEQ, SHIPPED, faults_of
from isohume.foundation.quantity.errors import InputError, IntegrityError


@dataclass(frozen=True, slots=True)
class Verification:
    """What was found. `first_bad` is the first bad thing in the order of the sequence; guards come after rows."""

    entries: int
    records: int
    verified: bool
    first_bad: Bad | None
    signatures: int = 0
    files: int = 0


def verify(folder: Path | str) -> Verification:
    """Verify a folder's ledger, records, signatures and files, or a bag that holds them; read only.

    folder: the data folder, or a BagIt bag with the store in its payload [text].
    Returns: Verification: counts [1], verified [1], and the first bad thing with kind, id and reason [text].
    Raises: InputError where there is no store.
    Beyond: see the module's first lines for what a chain of digests cannot prove alone.
    Source: 21CFR11, 11.10(a) to (c); RFC8493, 3.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise InputError("folder", str(folder), "a folder with a store, or a bag that holds one")
    if not is_bag(folder):
        return _verified_store(folder)
    place = _store_in_bag(folder)
    fault = fault_of_bag(folder)
    found = _verified_store(place)
    if fault is not None and found.first_bad is None:
        return replace(found, verified=False, first_bad=Bad("file", *fault))
    return found


def _store_in_bag(folder: Path) -> Path:
    places = sorted((folder / "data").rglob(DATABASE))
    if len(places) != 1:
        raise InputError("bag", str(folder), f"one store ({DATABASE}) in its payload; there are {len(places)}")
    return places[0].parent


def _verified_store(folder: Path) -> Verification:
    database = folder / DATABASE
    found = None
    for attempt in range(4):
        try:
            # the head first: what is read after it can only be further on
            head = read_head(folder)
        except IntegrityError as error:
            return Verification(0, 0, False, Bad("head", HEAD_FILE, str(error)))
        if not database.is_file():
            return _without_database(folder, head)
        before = log_state(database)
        found = _looked_at(folder, head, with_locks=attempt > 0)
        if found.verified or log_state(database) == before:
            break  # else a writer was at work beneath a reading without locks: look again, now with them
    assert found is not None
    return found


def _without_database(folder: Path, head: Head | None) -> Verification:
    if head is None or head == EMPTY:
        raise InputError("folder", str(folder), f"a folder with a store ({DATABASE})")
    return Verification(0, 0, False, Bad("database", DATABASE, f"it is missing; the head file knows {head.seq} lines"))


def _looked_at(folder: Path, head: Head | None, *, with_locks: bool) -> Verification:
    try:
        with opened_to_read(folder / DATABASE, with_locks=with_locks) as connection:
            connection.execute("BEGIN")
            found = {name: sql for name, _, sql in connection.execute(SHIPPED)}
            if not found and head in (None, EMPTY):
                raise InputError("folder", str(folder), "a folder with a store; its database has no ledger yet")
            return _everything(connection, found, head)
    except (sqlite3.Error, UnicodeError) as error:
        if head == EMPTY and Path(f"{folder / DATABASE}-journal").exists():
            raise InputError("folder", str(folder), "a store; the making of this one was cut short") from None
        return Verification(0, 0, False, Bad("database", DATABASE, f"it cannot be read: {error}"))


def _everything(connection: sqlite3.Connection, found: dict[str, str], head: Head | None) -> Verification:
    faults = [Bad(*fault) for fault in faults_of(found)]
    tables = [fault for fault in faults if fault.kind == "table"]
    if tables:
        return Verification(0, 0, False, tables[0])
    walked = walk(connection, found)
    bad = walked.bad or _fault_of_tail(connection, walked, head) or walked.left_over
    bad = bad or (faults[0] if faults else _fault_of_structure(connection, found))
    entries = walked.seq if bad is None else _count(connection, "ledger")
    records, signatures, files = (_count(connection, table) for table in ("record", "signature", "file"))
    return Verification(entries, records, bad is None, bad, signatures, files)


def _fault_of_tail(connection: sqlite3.Connection, walked: Walked, head: Head | None) -> Bad | None:
    """A ledger that ends early still agrees with itself; its numbering and its head file say how far it had come."""
    last = walked.seq
    try:
        highest = [row[0] for row in connection.execute(HIGHEST_SEQ)]
    except sqlite3.Error as error:
        return Bad("numbering", "ledger", f"the numbering cannot be read: {error}")
    numbered = highest[0] if highest else 0
    if head is None:
        return Bad("head", HEAD_FILE, "the head file is missing")
    furthest = max(numbered if isinstance(numbered, int) else 0, head.seq)
    if furthest > last:
        who = "head file" if head.seq > last else "numbering"
        reason = f"line {last + 1} is missing: the ledger ends at line {last}, its {who} knows {furthest}"
        return Bad("ledger", str(last + 1), reason)
    if len(highest) > 1 or numbered != last:
        return Bad("numbering", "ledger", f"the numbering says {numbered}, the ledger ends at line {last}")
    row = connection.execute(DIGEST_OF_LINE, (head.seq,)).fetchone()
    if head != EMPTY and (row is None or row[0] != head.digest):
        return Bad("head", HEAD_FILE, f"it knows another digest of line {head.seq} than the ledger holds")
    return None


def _fault_of_structure(connection: sqlite3.Connection, found: Container[str]) -> Bad | None:
    # These rows are found by index, so their indexes are compared row by row; ledger lines were read in order already.
    for table in ("record", "signature", "file"):
        if table not in found:
            continue
        try:
            said = connection.execute(f"PRAGMA integrity_check({table})").fetchone()
        except sqlite3.Error as error:
            said = (str(error),)
        if said is None or said[0] != "ok":
            return Bad("database", table, f"the table {table} is damaged: {said[0] if said else 'no answer'}")
    return None


def _count(connection: sqlite3.Connection, table: str) -> int:
    try:
        return int(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])
    except sqlite3.Error:
        return 0

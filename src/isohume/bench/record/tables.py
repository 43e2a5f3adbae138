"""The evidence tables, as plain SQL for SQLite, with the triggers that keep them: append, never change.

The text is compared word for word by `verify` and at every opening, so a missing or altered guard is seen. The
insert guards run before SQLite resolves conflicts, so INSERT OR REPLACE and UPSERT cannot get round the refusal to
delete (a replaced row fires no delete trigger unless recursive_triggers is on). A ledger line of kind 'record',
'signature' or 'file' is refused without its row, and a row without its ledger line cannot be committed (deferred
foreign key). Signatures and files came later than the first two tables; a store without them is as it was shipped then.
"""

from __future__ import annotations

DATABASE = "isohume.sqlite3"
GENESIS = "0" * 64  # the "previous digest" of the first line
OLDEST_SQLITE = (3, 37, 0)  # STRICT tables

LEDGER_COLUMNS = "seq, at, kind, ref, payload, previous, digest"
RECORD_COLUMNS = "seq, id, lot, inputs_digest, digest, body"
SIGNATURE_COLUMNS = "seq, record, person, meaning, body"
FILE_COLUMNS = "seq, sha256, name, body"

FIRST_OBJECTS: dict[str, str] = {
    "ledger": """CREATE TABLE ledger (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    ref TEXT NOT NULL,
    payload BLOB NOT NULL,
    previous TEXT NOT NULL,
    digest TEXT NOT NULL
) STRICT""",
    "record": """CREATE TABLE record (
    seq INTEGER PRIMARY KEY REFERENCES ledger (seq) DEFERRABLE INITIALLY DEFERRED,
    id TEXT NOT NULL UNIQUE,
    lot TEXT NOT NULL,
    inputs_digest TEXT NOT NULL,
    digest TEXT NOT NULL,
    body BLOB NOT NULL
) STRICT""",
    "record_by_lot": "CREATE INDEX record_by_lot ON record (lot)",
    "record_by_inputs": "CREATE INDEX record_by_inputs ON record (inputs_digest)",
    "ledger_refuses_update": """CREATE TRIGGER ledger_refuses_update BEFORE UPDATE ON ledger
BEGIN SELECT RAISE(ABORT, 'a ledger line is never changed'); END""",
    "ledger_refuses_delete": """CREATE TRIGGER ledger_refuses_delete BEFORE DELETE ON ledger
BEGIN SELECT RAISE(ABORT, 'a ledger line is never deleted'); END""",
    "ledger_continues_chain": f"""CREATE TRIGGER ledger_continues_chain BEFORE INSERT ON ledger
WHEN ((NEW.seq - 1, NEW.previous) IS NOT (SELECT seq, digest FROM ledger ORDER BY seq DESC LIMIT 1)
        AND NOT (NEW.seq = 1 AND NEW.previous = '{GENESIS}' AND NOT EXISTS (SELECT 1 FROM ledger)))
    OR (NEW.kind = 'record' AND NOT EXISTS (SELECT 1 FROM record WHERE seq = NEW.seq AND id = NEW.ref))
BEGIN SELECT RAISE(ABORT, 'a ledger line continues the chain, and a record line has its record'); END""",
    "record_refuses_update": """CREATE TRIGGER record_refuses_update BEFORE UPDATE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never changed'); END""",
    "record_refuses_delete": """CREATE TRIGGER record_refuses_delete BEFORE DELETE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END""",
    "record_takes_next_line": """CREATE TRIGGER record_takes_next_line BEFORE INSERT ON record
WHEN NEW.seq IS NOT coalesce((SELECT max(seq) FROM ledger), 0) + 1
    OR EXISTS (SELECT 1 FROM record WHERE seq = NEW.seq OR id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'a record takes the next ledger line and a new id'); END""",
}

# Added later, all together; the first objects stay word for word, so that an old store is still as it was shipped.
ADDED_OBJECTS: dict[str, str] = {
    "signature": """CREATE TABLE signature (
    seq INTEGER PRIMARY KEY REFERENCES ledger (seq) DEFERRABLE INITIALLY DEFERRED,
    record TEXT NOT NULL,
    person TEXT NOT NULL,
    meaning TEXT NOT NULL,
    body BLOB NOT NULL,
    UNIQUE (record, person, meaning)
) STRICT""",
    "file": """CREATE TABLE file (
    seq INTEGER PRIMARY KEY REFERENCES ledger (seq) DEFERRABLE INITIALLY DEFERRED,
    sha256 TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    body BLOB NOT NULL
) STRICT""",
    "ledger_line_has_its_row": """CREATE TRIGGER ledger_line_has_its_row BEFORE INSERT ON ledger
WHEN (NEW.kind = 'signature' AND NOT EXISTS (SELECT 1 FROM signature WHERE seq = NEW.seq AND record = NEW.ref))
    OR (NEW.kind = 'file' AND NOT EXISTS (SELECT 1 FROM file WHERE seq = NEW.seq AND sha256 = NEW.ref))
BEGIN SELECT RAISE(ABORT, 'a ledger line of a signature or a file has its row'); END""",
    "signature_refuses_update": """CREATE TRIGGER signature_refuses_update BEFORE UPDATE ON signature
BEGIN SELECT RAISE(ABORT, 'a signature is never changed'); END""",
    "signature_refuses_delete": """CREATE TRIGGER signature_refuses_delete BEFORE DELETE ON signature
BEGIN SELECT RAISE(ABORT, 'a signature is never deleted'); END""",
    "signature_takes_next_line": """CREATE TRIGGER signature_takes_next_line BEFORE INSERT ON signature
WHEN NEW.seq IS NOT coalesce((SELECT max(seq) FROM ledger), 0) + 1
    OR EXISTS (SELECT 1 FROM signature WHERE seq = NEW.seq)
    OR EXISTS (SELECT 1 FROM signature WHERE record = NEW.record AND person = NEW.person AND meaning = NEW.meaning)
    OR NOT EXISTS (SELECT 1 FROM record WHERE id = NEW.record)
BEGIN SELECT RAISE(ABORT, 'a signature takes the next ledger line, once a person and meaning, of a record'); END""",
    "file_refuses_update": """CREATE TRIGGER file_refuses_update BEFORE UPDATE ON file
BEGIN SELECT RAISE(ABORT, 'a file is never changed'); END""",
    "file_refuses_delete": """CREATE TRIGGER file_refuses_delete BEFORE DELETE ON file
BEGIN SELECT RAISE(ABORT, 'a file is never deleted'); END""",
    "file_takes_next_line": """CREATE TRIGGER file_takes_next_line BEFORE INSERT ON file
WHEN NEW.seq IS NOT coalesce((SELECT max(seq) FROM ledger), 0) + 1
    OR EXISTS (SELECT 1 FROM file WHERE seq = NEW.seq OR sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'a file takes the next ledger line, and is kept once'); END""",
}
OBJECTS = FIRST_OBJECTS | ADDED_OBJECTS

# Other parts share the database; only what hangs on the evidence tables is ours to compare.
SHIPPED = (
    "SELECT name, type, sql FROM sqlite_master "
    "WHERE tbl_name IN ('ledger', 'record', 'signature', 'file') AND sql IS NOT NULL"
)
LAST_LINE = "SELECT seq, digest FROM ledger ORDER BY seq DESC LIMIT 1"
HIGHEST_SEQ = "SELECT seq FROM sqlite_sequence WHERE name = 'ledger'"
DIGEST_OF_LINE = "SELECT digest FROM ledger WHERE seq = ?"
INSERT_LINE = f"INSERT INTO ledger ({LEDGER_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)"
INSERT_RECORD = f"INSERT INTO record ({RECORD_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)"
LAST_RECORD_ID = "SELECT id FROM record ORDER BY seq DESC LIMIT 1"
INSERT_SIGNATURE = f"INSERT INTO signature ({SIGNATURE_COLUMNS}) VALUES (?, ?, ?, ?, ?)"
INSERT_FILE = f"INSERT INTO file ({FILE_COLUMNS}) VALUES (?, ?, ?, ?)"
SIGNED_ALREADY = "SELECT seq FROM signature WHERE record = ? AND person = ? AND meaning = ?"
FILE_KNOWN = "SELECT seq FROM file WHERE sha256 = ?"
LINE_OF_ADDED_KIND = "SELECT seq FROM ledger WHERE kind IN ('signature', 'file') ORDER BY seq LIMIT 1"
ALL_LINES = f"SELECT {LEDGER_COLUMNS} FROM ledger ORDER BY seq"
LINES_FROM = f"SELECT {LEDGER_COLUMNS} FROM ledger WHERE seq >= ? ORDER BY seq"
LINES_OF_KIND = f"SELECT {LEDGER_COLUMNS} FROM ledger WHERE kind = ? ORDER BY seq"
ALL_RECORDS = f"SELECT {RECORD_COLUMNS} FROM record ORDER BY seq"
ALL_SIGNATURES = (
    "SELECT s.seq, s.record, s.person, s.meaning, s.body, r.digest "
    "FROM signature AS s LEFT JOIN record AS r ON r.id = s.record ORDER BY s.seq"
)
SIGNATURES_OF_RECORD = (
    "SELECT s.seq, s.record, s.person, s.meaning, s.body, r.digest, l.kind, l.ref, l.payload FROM signature AS s "
    "LEFT JOIN record AS r ON r.id = s.record LEFT JOIN ledger AS l ON l.seq = s.seq WHERE s.record = ? ORDER BY s.seq"
)
ALL_FILES = f"SELECT {FILE_COLUMNS} FROM file ORDER BY seq"
FILE_BODY = "SELECT body FROM file WHERE sha256 = ?"
RECORD_WITH_AT = (
    "SELECT r.seq, r.id, r.lot, r.inputs_digest, r.digest, r.body, l.at "
    "FROM record AS r LEFT JOIN ledger AS l USING (seq) WHERE "
)


def lacks_what_was_added(found: dict[str, str]) -> bool:
    """Whether a store was made before signatures and files were kept: not one of the later objects is there.

    found: SQL text by name, of everything that hangs on the evidence tables [text].
    Returns: true where all of them are missing [1].
    Source: none.
    """
    return ADDED_OBJECTS.keys().isdisjoint(found)


def faults_of(found: dict[str, str]) -> list[tuple[str, str, str]]:
    """What of the shipped tables and triggers is missing, altered or added: (kind, name, reason), in shipped order.

    found: SQL text by name, of everything that hangs on the evidence tables [text].
    Returns: one tuple a fault, none when all is as shipped, now or before signatures and files were kept [text].
    Source: 21CFR11, 11.10(e).
    """
    shipped = FIRST_OBJECTS if lacks_what_was_added(found) else OBJECTS
    faults = []
    for name, sql in shipped.items():
        kind = sql.split(maxsplit=2)[1].lower()
        if name not in found:
            faults.append((kind, name, f"the {kind} {name} is missing"))
        elif found[name] != sql:
            faults.append((kind, name, f"the {kind} {name} is not the one that was shipped"))
    for name, sql in found.items():
        if name not in shipped:
            kind = sql.split(maxsplit=2)[1].lower()
            faults.append((kind, name, f"the {kind} {name} was added to the evidence tables"))
    return faults

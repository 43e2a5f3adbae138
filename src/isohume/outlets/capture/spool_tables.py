"""The tables of a spool."""

from __future__ import annotations

import sqlite3

from isohume.bench.record.entry_chain import chain_after, chain_begun
from isohume.outlets.capture.entry import wire

FORMAT, WITHOUT_CHAIN = "2", "1"
TABLES = """
CREATE TABLE IF NOT EXISTS mark (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    format TEXT NOT NULL,
    spool TEXT NOT NULL,            -- the spool's own name, by which the site knows it
    last INTEGER NOT NULL,          -- number of the newest entry; never used again
    acknowledged INTEGER NOT NULL,  -- what the site has said it holds
    runs INTEGER NOT NULL,          -- runs named so far
    chain TEXT NOT NULL             -- the digest over the entries, after the newest one
);
CREATE TABLE IF NOT EXISTS entry (
    n INTEGER PRIMARY KEY,
    run TEXT NOT NULL,
    elapsed_s TEXT,                 -- of a reading, with its a_w: by them a repeat is known
    a_w TEXT,
    body TEXT NOT NULL,
    before TEXT NOT NULL            -- the digest before it; '' of one delivered by an agent that kept none
);
CREATE INDEX IF NOT EXISTS entry_of_run ON entry (run, n);
CREATE TABLE IF NOT EXISTS run (
    key TEXT PRIMARY KEY,
    instrument TEXT NOT NULL,
    number TEXT NOT NULL,
    started_at TEXT NOT NULL,
    ended TEXT NOT NULL DEFAULT ''  -- the reason; '' while it goes on
);
CREATE INDEX IF NOT EXISTS run_of_number ON run (instrument, number);
CREATE TABLE IF NOT EXISTS reader (instrument TEXT PRIMARY KEY, state TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS file (
    instrument TEXT NOT NULL,
    path TEXT NOT NULL,
    body TEXT NOT NULL,             -- how far it was read, and by what it is known again
    PRIMARY KEY (instrument, path)
);
CREATE TABLE IF NOT EXISTS delivered (last INTEGER PRIMARY KEY, at REAL NOT NULL);
CREATE TABLE IF NOT EXISTS said (topic TEXT PRIMARY KEY, at TEXT NOT NULL, words TEXT NOT NULL);
"""


def bring_up(db: sqlite3.Connection) -> None:
    """A spool of the format before this one: what was not delivered yet gets its digests, from where the site stands.

    Inside the caller's transaction.
    """
    if db.execute("SELECT format FROM mark").fetchone()[0] != WITHOUT_CHAIN:
        return
    db.execute("ALTER TABLE mark ADD COLUMN chain TEXT NOT NULL DEFAULT ''")
    db.execute("ALTER TABLE entry ADD COLUMN before TEXT NOT NULL DEFAULT ''")
    spool, acknowledged = db.execute("SELECT spool, acknowledged FROM mark").fetchone()
    chain = chain_begun(spool, acknowledged)
    for n, body in db.execute("SELECT n, body FROM entry WHERE n > ? ORDER BY n", (acknowledged,)).fetchall():
        db.execute("UPDATE entry SET before = ? WHERE n = ?", (chain, n))
        chain = chain_after(chain, wire(n, body))
    db.execute("UPDATE mark SET format = ?, chain = ?", (FORMAT, chain))

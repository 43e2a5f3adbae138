"""What people do on the site while its processes are killed; each act leaves a mark that can be found again."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from proofs.site_browser import Browser, Page

ADMINISTRATOR, ANALYST, MANAGER, OFFICER = "kmoor", "rhale", "mfarrow", "dpell"
PEOPLE = (ADMINISTRATOR, ANALYST, MANAGER, OFFICER)
LINES = "SELECT count(*) FROM ledger WHERE kind = ? AND (ref = ? OR instr(CAST(payload AS TEXT), ?) > 0)"
# the last record of each lot, where it may go: a certificate may be asked of these
RELEASED = """SELECT max(record) FROM lots_lotrecord JOIN bench_lot ON bench_lot.id = lot_id
WHERE bench_lot.state = 'released' GROUP BY lot_id HAVING count(*) = 1 ORDER BY 1"""


@dataclass(frozen=True)
class Act:
    """One change over HTTP: who does it, how, and where its mark stands in the register and in the ledger."""

    name: str
    by: str
    do: Callable[[Browser, str], Page]
    rows: str
    kind: str


def invite_person(browser: Browser, mark: str) -> Page:
    """A new account with its one-time link."""
    form = browser.get("/people/").form_with("printed_name", "username")
    return browser.send(form, printed_name=f"Person {mark}", username=mark, roles="analyst")


def leave_note(browser: Browser, mark: str) -> Page:
    """A note for the next shift."""
    return browser.send(browser.get("/hand-over/").form_with("text"), text=mark)


def log_cleaning(browser: Browser, mark: str) -> Page:
    """A cleaning of the first instrument."""
    return browser.send(browser.get("/cleanings/new/?instrument=1").form_with("instrument", "what"), what=mark)


def add_instrument(browser: Browser, mark: str) -> Page:
    """One more instrument in the register."""
    form = browser.get("/register/instruments/new/").form_with("called", "serial")
    return browser.send(form, called=mark, serial=mark, principle="dew-point measurement")


def ask_certificate(browser: Browser, record: str) -> Page:
    """A certificate, which the worker makes; the record's id is the mark."""
    return browser.send(browser.get(f"/records/{record}/certificate/").form_with("paper"), paper="a4")


CERTIFICATE = Act(
    "ask for a certificate",
    OFFICER,
    ask_certificate,
    "SELECT count(*) FROM work_job WHERE json_extract(argument, '$.record') = ?",
    "certificate_asked",
)
ACTS = (
    Act(
        "invite a person",
        ADMINISTRATOR,
        invite_person,
        "SELECT count(*) FROM people_person WHERE username = ?",
        "person_invited",
    ),
    Act("leave a note", ANALYST, leave_note, "SELECT count(*) FROM bench_handover WHERE text = ?", "hand_over_written"),
    Act(
        "log a cleaning",
        ANALYST,
        log_cleaning,
        "SELECT count(*) FROM checks_cleaning WHERE what = ?",
        "cleaning_logged",
    ),
    Act(
        "add an instrument",
        MANAGER,
        add_instrument,
        "SELECT count(*) FROM register_instrument WHERE name = ?",
        "instrument_added",
    ),
    CERTIFICATE,
)


def found(connection: sqlite3.Connection, act: Act, mark: str) -> tuple[int, int]:
    """How many rows and how many ledger lines bear a mark: (1, 1), or (0, 0) where the act never was."""
    rows = connection.execute(act.rows, (mark,)).fetchone()[0]
    lines = connection.execute(LINES, (act.kind, mark, f'"{mark}"')).fetchone()[0]
    return int(rows), int(lines)


def password_of(folder: Path) -> str:
    """The demonstration people's password."""
    return (folder / "demo-sign-in.txt").read_text(encoding="utf-8").rpartition("password of all: ")[2].strip()

"""The auditor: from a released lot to the balance record of its reference, and whether all of it can be proved."""

from __future__ import annotations

import re
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from playwright.sync_api import expect
from tests import served
from tests.served import Plant, in_the_site
from tests.story.desk import Desk

from isohume.bench.record.tables import OBJECTS

CLICKS = 4
GUARDS = [name for name, sql in OBJECTS.items() if sql.startswith("CREATE TRIGGER")]

LINES_OF = """
SELECT l.kind FROM ledger l JOIN ledger_trailline t ON t.seq = l.seq WHERE t.ref = ? ORDER BY l.seq
"""
JUDGE = """
from django.utils import timezone
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.people.models import Person
by = By(Person.objects.get(username="mfarrow"), timezone.now())
perform(JudgeLot(Lot.objects.get(code__endswith="-20", state="on hold")), by)
"""


def test_from_a_released_lot_to_the_balance_record_of_its_reference(plant: Plant, desk: Callable[[str], Desk]) -> None:
    auditor = desk("avance")
    lot, code = plant.ask("SELECT id, code FROM bench_lot WHERE state = 'released' ORDER BY id DESC LIMIT 1")[0]
    auditor.open(f"/lots/{lot}/")
    auditor.click("NaCl saturated, lot")
    expect(auditor.page.get_by_role("heading", name="Balance record")).to_be_visible()
    expect(auditor.page.locator("#balance-record")).to_contain_text("52.48 g")
    expect(auditor.page.locator("#balance-record")).to_contain_text("Balance B-3")
    assert auditor.clicks <= CLICKS
    auditor.open(f"/lots/{lot}/")
    auditor.clicks = 0
    auditor.click("The whole trail of this lot")
    assert auditor.clicks == 1
    told = plant.ask(LINES_OF, f"lot:{lot}")
    assert told[0] == ("lot_received",)
    expect(auditor.page.get_by_role("row")).to_have_count(len(told) + 1)
    expect(auditor.page.get_by_role("table")).to_contain_text("Received a lot")
    expect(auditor.page.get_by_role("heading", level=1)).to_contain_text(code)


def test_the_evidence_is_verified_and_the_auditor_changes_nothing(plant: Plant, desk: Callable[[str], Desk]) -> None:
    auditor = desk("avance")
    auditor.click("Records").click("Verify the evidence").click("Verify the evidence")
    expect(auditor.answer).to_have_text("Verified")
    lot, state = plant.ask("SELECT id, state FROM bench_lot WHERE state = 'released' ORDER BY id DESC LIMIT 1")[0]
    portion = plant.one("SELECT min(id) FROM bench_portion WHERE NOT done")
    before = plant.last_line
    doors = {
        f"/lots/{lot}/hold/": {"hold_reason": "I should not be able to"},
        f"/lots/{lot}/judge/": {"amendment_reason": "I should not be able to"},
        f"/shift/{portion}/": {"a_w": "0.6312", "sample_temperature_c": "25.0", "instrument": "1"},
        "/register/products/new/": {"called": "Auditor's bar", "form": "baked goods", "method": "1"},
        "/hand-over/": {"text": "I should not be able to"},
    }
    for path, typed in doors.items():
        answer = auditor.post(path, typed)
        assert answer.status in (403, 422), (path, answer.status)
        assert re.search(r"is for|for: ", answer.text()), f"{path} says who may"
    assert plant.kinds(before) == []
    assert plant.one("SELECT state FROM bench_lot WHERE id = ?", lot) == state


def test_a_changed_byte_and_a_moved_signature_are_named(plant: Plant, tmp_path: Path) -> None:
    assert verify_by_hand(plant.folder) == (0, "verified")
    (first, _), (second, record) = plant.ask("SELECT seq, record FROM signature ORDER BY seq LIMIT 2")
    changed = served.copy_of(plant.folder, tmp_path / "changed").folder
    behind_its_back(changed, "UPDATE signature SET body = CAST(replace(body, 'reviewed', 'reviewes') AS BLOB)"
                             f" WHERE seq = {first}")  # fmt: skip
    assert verify_by_hand(changed) == (1, f"signature {first}")
    moved = served.copy_of(plant.folder, tmp_path / "moved").folder
    in_the_site(moved, JUDGE)
    assert verify_by_hand(moved) == (0, "verified")
    other = Plant(moved).one("SELECT max(id) FROM record WHERE id NOT IN (SELECT record FROM signature)")
    assert other != record
    behind_its_back(moved, f"UPDATE signature SET record = '{other}' WHERE seq = {second}")
    assert verify_by_hand(moved) == (1, f"signature {second}")


def behind_its_back(folder: Path, sql: str) -> None:
    """Drop the guards, change a row, and make the guards again, as somebody would who wants to hide it."""
    with closing(sqlite3.connect(folder / served.DATABASE)) as connection, connection:
        for guard in GUARDS:
            connection.execute(f"DROP TRIGGER {guard}")
        assert connection.execute(sql).rowcount == 1
        for guard in GUARDS:
            connection.execute(OBJECTS[guard])


def verify_by_hand(folder: Path) -> tuple[int, str]:
    """`isohume verify` on a folder: its exit status, and what it names first."""
    done = subprocess.run((*served.COMMAND, "verify", str(folder)), capture_output=True, text=True, timeout=120)
    named = re.search(r"first bad\W+(\w+ \S+):", done.stdout)
    return done.returncode, named[1] if named else "verified"

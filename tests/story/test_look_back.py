"""The manager at six in the morning: a check failed. Which lots, how badly, hold them, print the sheet, in minutes."""

from __future__ import annotations

import re
from collections.abc import Callable

import pymupdf
from playwright.sync_api import expect
from tests.served import Plant, in_the_site
from tests.story.desk import Desk

CLICKS = 4
CLOSED = """
from datetime import timedelta
from isohume.foundation.solutions import reference_value
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.register.models import Bottle
failed = Check.objects.get(passed=False)
opening = Check.objects.filter(instrument=failed.instrument, last_read_at__lt=failed.first_read_at).latest("pk")
at = opening.last_read_at + timedelta(hours=float(sys.argv[2]))
bottles = Bottle.objects.select_related("solution_lot__site").order_by("pk")
readings = [
    {"bottle": b, "temperature_c": "25.0", "a_w": f"{expected:.4f}", "read_at": at.isoformat()}
    for b, expected in ((b, reference_value(b.solution_lot.solution, 25.0).a_w) for b in bottles)
]
action = RecordCheck(failed.instrument, "closing", opening.method_version, readings)
perform(action, By(opening.by, at + timedelta(minutes=1)))
"""


def look_back(desk: Desk) -> Desk:
    """From Today to the list: the failed check, then its look-back."""
    desk.click("Check of OW-1")
    expect(desk.answer).to_have_text("No: the check failed")
    return desk.click("Look back")


def test_eleven_lots_are_held_in_one_act_and_the_sheet_is_printed(plant: Plant, desk: Callable[[str], Desk]) -> None:
    manager = desk("mfarrow")
    runs = plant.ask("SELECT id, a_w, void_reason FROM bench_run ORDER BY id")
    records = plant.ask("SELECT record, digest, verdict FROM lots_lotrecord ORDER BY id")
    look_back(manager)
    expect(manager.answer).to_have_text("11 lots, 2 beyond a limit once corrected")
    rows = manager.page.get_by_role("region", name="The list, worst first").get_by_role("row")
    expect(rows).to_have_count(12)
    expect(rows.nth(1)).to_contain_text(re.compile(r"-08.*0\.6450.*0\.6557.*conditional fail", re.DOTALL))
    expect(rows.nth(2)).to_contain_text(re.compile(r"-04.*0\.6420.*0\.652[67].*conditional fail", re.DOTALL))
    expect(manager.page.get_by_role("main")).to_contain_text("No closing check lies between")
    manager.click("Hold all 11 lots")
    assert manager.clicks <= CLICKS, "failed check, look-back, hold"
    assert plant.one("SELECT count(*) FROM lots_deviation WHERE kind = 'hold' AND closed_at IS NULL") == 11
    assert plant.one("SELECT count(DISTINCT lot_id) FROM lookback_heldlot") == 11
    held = "SELECT count(*) FROM bench_lot WHERE state = 'on hold' AND id IN (SELECT lot_id FROM lookback_heldlot)"
    assert plant.one(held) == 11
    expect(manager.answer).to_have_text("11 lots, 2 beyond a limit once corrected")
    expect(manager.page.get_by_role("main")).to_contain_text("every lot of the list is held or rejected")
    assert plant.ask("SELECT id, a_w, void_reason FROM bench_run ORDER BY id") == runs
    assert plant.ask("SELECT record, digest, verdict FROM lots_lotrecord ORDER BY id") == records
    the_sheet(manager, plant)


def the_sheet(manager: Desk, plant: Plant) -> None:
    """Asked for, made by the worker, opened: eleven lots, worst first, and room to write who stopped them."""
    manager.click("Make hold list")
    expect(manager.answer).to_have_text("Ready", timeout=60_000)
    place = plant.one("SELECT result FROM work_job WHERE kind = 'look-back'")
    with pymupdf.open(plant.folder / place) as pdf:
        text = "".join(page.get_text() for page in pdf)
    codes = re.findall(r"SB-\d{4}-\d\d", text)
    assert len(dict.fromkeys(codes)) == 11
    assert codes[0].endswith("-08")
    assert "Stopped by, when" in text


def test_the_officer_rejects_one_of_them_with_a_reason(plant: Plant, desk: Callable[[str], Desk]) -> None:
    manager = look_back(desk("mfarrow")).click("Hold all 11 lots")
    officer = desk("dpell").open(manager.page.url.removeprefix(manager.address))
    officer.page.get_by_role("region", name="The list, worst first").get_by_role("link", name="deviation").first.click()
    officer.fill(cause="Syrup on the rim of OW-1", action="Tested again from the retained units: 0.656")
    officer.page.locator("[name=disposition][value=reject]").check()
    officer.fill(password=plant.password).click("Close deviation")
    assert plant.one("SELECT count(*) FROM bench_lot WHERE state = 'rejected'") == 1
    officer.open(manager.page.url.removeprefix(manager.address))
    expect(officer.page.get_by_role("main")).to_contain_text("Now: 10 on hold, 1 rejected")


def test_with_a_closing_check_after_the_last_lot_nobody_is_at_risk(plant: Plant, desk: Callable[[str], Desk]) -> None:
    """Row 5 of the feature table: a closing pass shrinks the list to 0."""
    in_the_site(plant.folder, CLOSED, "9.2")
    failed = plant.one("SELECT id FROM checks_check WHERE NOT passed")
    manager = desk("mfarrow").open(f"/checks/{failed}/look-back/")
    expect(manager.answer).to_have_text("No lot is at risk")
    expect(manager.page.get_by_role("main")).to_contain_text("It was a closing check: without it the list would be")


def test_with_a_closing_check_at_noon_only_later_lots_are(plant: Plant, desk: Callable[[str], Desk]) -> None:
    in_the_site(plant.folder, CLOSED, "3.0")
    failed = plant.one("SELECT id FROM checks_check WHERE NOT passed")
    when = "SELECT first_read_at FROM checks_check WHERE kind = 'closing' ORDER BY id DESC LIMIT 1"
    later = """
    SELECT count(DISTINCT s.lot_id) FROM bench_run r JOIN bench_portion p ON p.id = r.portion_id
    JOIN bench_sample s ON s.id = p.sample_id JOIN checks_check f ON f.id = ?
    WHERE r.instrument_id = f.instrument_id AND r.read_at > ? AND r.read_at < f.first_read_at
    """
    count = plant.one(later, failed, plant.one(when))
    assert 0 < count < 11
    manager = desk("mfarrow").open(f"/checks/{failed}/look-back/")
    expect(manager.answer).to_contain_text(f"{count} lot")

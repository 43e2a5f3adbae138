"""A failed check answered step by step: nothing careful is left out before the instrument is adjusted, and after it
nothing is measured until it passes as left."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from playwright.sync_api import expect
from tests.served import Plant, in_the_site
from tests.story.desk import Desk

from isohume.foundation.solutions import reference_value

ZONE = ZoneInfo("Europe/London")
LOW = -0.012
FAILED = """
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo
from django.utils import timezone
from isohume.foundation.solutions import reference_value
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.actions.add_bottle import AddBottle
from isohume.outlets.site.register.actions.open_bottle import OpenBottle
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, SolutionLot

analyst, manager = (Person.objects.get(username=name) for name in ("rhale", "mfarrow"))
instrument, method, now = Instrument.objects.get(name="OW-1"), MethodVersion.objects.get(), timezone.now()
first = Bottle.objects.get(solution_lot__solution="NaCl")
lot = first.solution_lot
second = SolutionLot.objects.create(
    site=lot.site, code="NaCl-second", solution="NaCl", molality="", made_on=lot.made_on, expires_on=lot.expires_on,
    made_from="salt of another delivery",
)
bottle = perform(AddBottle(second, "1"), By(manager, now - timedelta(hours=3)))
perform(OpenBottle(bottle, "", ""), By(manager, now - timedelta(hours=3)))
read_at = now.replace(second=0, microsecond=0) - timedelta(minutes=60)
start = FillStartSheet(instrument, method, "21.4", "46", (read_at - timedelta(hours=1)).isoformat(), "25.0")
perform(start, By(analyst, read_at))
# a sheet is a plant day's: where midnight falls between the readings and now, the new day has its own
midnight = datetime.combine(now.astimezone(ZoneInfo(lot.site.time_zone)).date(), time(), ZoneInfo(lot.site.time_zone))
if midnight > read_at:
    perform(start, By(analyst, midnight))
nitrate = Bottle.objects.get(solution_lot__solution="Mg(NO3)2")
rows = [
    {"bottle": b, "temperature_c": "25.0", "read_at": read_at.isoformat(),
     "a_w": f"{reference_value(b.solution_lot.solution, 25.0).a_w - 0.012:.4f}"}
    for b in (nitrate, first)
]
check = perform(RecordCheck(instrument, "opening", method, rows), By(analyst, read_at + timedelta(minutes=4)))
print(check.pk, nitrate.pk, first.pk, bottle.pk)
"""


def ago(minutes: int) -> str:
    """So long ago, as a field for date and time holds it."""
    return (datetime.now(ZONE) - timedelta(minutes=minutes)).strftime("%Y-%m-%dT%H:%M")


def read(person: Desk, salt: str, nitrate: str, minutes: int, off: float) -> None:
    """Both references on the form of a check, off by so much, so long ago."""
    for row, (solution, bottle) in enumerate((("Mg(NO3)2", nitrate), ("NaCl", salt)), 1):
        a_w = float(reference_value(solution, 25.0).a_w) + off
        typed = {"bottle": f"iso:b:{bottle}", "temperature_c": "25.0", "a_w": f"{a_w:.4f}", "read_at": ago(minutes)}
        person.fill(**{f"{name}_{row}": text for name, text in typed.items()})
    person.page.get_by_label("opening: before the first sample").check()
    person.click("Judge and keep this check")


def test_nothing_careful_is_left_out_before_adjusting(plant: Plant, desk: Callable[[str], Desk]) -> None:
    failed, nitrate, salt, second = in_the_site(plant.folder, FAILED).split()
    sequence = f"/checks/{failed}/sequence/"
    analyst, manager = desk("rhale"), desk("mfarrow")

    manager.open(f"/checks/{failed}/").click("The whole sequence, and why")
    expect(manager.answer).to_have_text("Repeat the check once, as it is")
    expect(manager.page.locator("main")).to_contain_text("No cleaning is logged")
    expect(manager.page.get_by_role("link", name="Only then adjust")).to_have_count(0)

    analyst.open(sequence).click("Repeat the check once")
    read(analyst, salt, nitrate, 50, LOW)
    expect(analyst.answer).to_have_text("No: the check failed")
    analyst.open(sequence)
    expect(analyst.answer).to_have_text("Read a fresh portion of the reference")
    analyst.click("Clean chamber, rim and sensor")
    analyst.fill(what="Chamber and rim, dried syrup washed off", at=ago(40)).click("Log this cleaning")
    analyst.open(sequence).click("Repeat the check.")
    read(analyst, salt, nitrate, 35, LOW)

    manager.open(sequence)
    expect(manager.answer).to_have_text("Read a second lot of the reference")
    expect(manager.page.locator("main")).to_contain_text("the reference may be wrong and not the instrument")
    analyst.open(sequence).click("Read a second lot")
    read(analyst, second, nitrate, 25, LOW)

    manager.open(sequence).click("Only then adjust").click("Record an adjustment")
    manager.fill(what="Zero and span", done_by="Mira Farrow-Quist", reason="Low on two lots after cleaning", at=ago(15))
    manager.click("Record this adjustment")
    expect(manager.page.locator("main")).to_contain_text("not read yet: no standing")
    manager.click("Today")
    expect(manager.page.locator("main")).not_to_contain_text("OW-1 may measure")

    analyst.open(sequence)
    expect(analyst.answer).to_have_text("Read the as-left check")
    analyst.click("Read the as-left check")
    read(analyst, salt, nitrate, 5, 0.0005)
    expect(analyst.answer).to_contain_text("Yes, between 0.52")
    manager.open(sequence)
    expect(manager.answer).to_contain_text("It passed again")
    manager.open(f"/register/instruments/{plant.one('SELECT id FROM register_instrument WHERE name = ?', 'OW-1')}/")
    manager.click("Adjustments and corrections")
    expect(manager.answer).to_contain_text("+0.0125 in all, within the cap")
    row = manager.page.get_by_role("row", name="NaCl saturated")
    expect(row).to_contain_text("0.7410")
    expect(row).to_contain_text("0.7535")

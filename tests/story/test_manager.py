"""The manager's register and due list, an instrument out of use, and both incidents of plant A found from Today."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from playwright.sync_api import expect
from tests.served import Plant
from tests.story.desk import Desk
from tests.story.made import checked_and_read

CLICKS = 3
SWAPPED = "First keying 0.618, second 0.681: the digits 1 and 8 are swapped"
VERSIONS = """
SELECT count(*) FROM register_specificationversion v JOIN register_product p ON p.id = v.product_id WHERE p.name = ?
"""


def today() -> date:
    """The plant's day."""
    return datetime.now(ZoneInfo("Europe/London")).date()


def test_the_register_and_what_is_due(plant: Plant, desk: Callable[[str], Desk]) -> None:
    manager = desk("mfarrow")
    begun = plant.last_line
    a_new_bottle(manager, plant)
    a_product_whose_limit_has_a_temperature(manager, plant)
    a_competence_that_lapsed(manager)
    kinds = plant.kinds(begun)
    wanted = ("bottle_added", "bottle_opened", "product_added", "specification_added", "competence_shown")
    assert [kind for kind in kinds if kind in wanted] == list(wanted)


def a_new_bottle(manager: Desk, plant: Plant) -> None:
    """From the register: filled, opened, with a day to be discarded on; it may be read at once."""
    lot, code = plant.ask("SELECT id, code FROM register_solutionlot WHERE solution = 'NaCl'")[0]
    manager.click("Register").click("Reference lots").click(code)
    manager.click("Add bottle")
    manager.fill(code="2").click("Add bottle")
    expect(manager.answer).to_have_text("It may not be read.")
    manager.click("Open bottle")
    manager.fill(discard_on=(today() + timedelta(days=20)).isoformat()).click("Open bottle")
    expect(manager.answer).to_have_text("It may be read today.")
    opened = "SELECT opened_at IS NOT NULL FROM register_bottle WHERE solution_lot_id = ? AND code = '2'"
    assert plant.one(opened, lot) == 1
    manager.click("Register").click("Everything due")
    expect(manager.page.get_by_role("row", name="Bottle 2 of")).to_contain_text("20 days")


def a_product_whose_limit_has_a_temperature(manager: Desk, plant: Plant) -> None:
    """A limit without its temperature is refused at that field, by the page and by the server; nothing is lost."""
    manager.click("Register").click("Products").click("Add product")
    manager.fill(called="Honey bar", components="")
    manager.page.locator("[name=form]").select_option("soft or filled pieces")
    manager.page.locator("[name=method]").select_option(index=1)
    manager.click("Add product")
    expect(manager.answer).to_have_text("Nothing is said yet: it has no specification.")
    manager.click("Add specification version")
    manager.fill(version="1", temperature_c="", upper="0.600", source="Product specification HB-1 of the plant")
    manager.press("Add specification version")
    assert manager.page.evaluate("document.activeElement.name") == "temperature_c"
    manager.fill(temperature_c=" ").click("Add specification version")
    field = manager.page.locator("#temperature_c-error")
    expect(field).to_contain_text("allowed")
    assert manager.page.locator("[name=upper]").input_value() == "0.600"
    assert plant.one(VERSIONS, "Honey bar") == 0
    manager.fill(temperature_c="25.0").click("Add specification version")
    expect(manager.answer).to_have_text("a_w at most 0.600 at 25.0 degC")


def a_competence_that_lapsed(manager: Desk) -> None:
    """It stands on the person's page, on the due list, and on Today."""
    manager.page.locator("[data-menu] summary").click()
    manager.click("People").click("Jun Sorrel-Abara")
    manager.page.get_by_label("Method").select_option(label="Water activity of cut bars, BM-12")
    manager.fill(
        shown_on=(today() - timedelta(days=200)).isoformat(),
        lapses_on=(today() - timedelta(days=1)).isoformat(),
        evidence="Blind reference BR-JS within 0.004",
    )
    manager.click("Record competence")
    expect(manager.page.locator("main")).to_contain_text("does not hold")
    words = "Competence of Jun Sorrel-Abara"
    manager.click("Today")
    expect(manager.page.get_by_role("listitem").filter(has_text=words)).to_contain_text("overdue")
    manager.click("The due list")
    expect(manager.page.get_by_role("row", name=words)).to_contain_text("overdue")


def test_an_instrument_out_of_use_measures_nothing(plant: Plant, desk: Callable[[str], Desk]) -> None:
    checked_and_read(plant, {})
    analyst, manager = desk("rhale"), desk("mfarrow")
    expect(analyst.answer).to_contain_text(re.compile("OW-1.* may measure"))
    manager.click("Register").click("Instruments").click("OW-1")
    manager.click("Take instrument out of use")
    manager.fill(reason="The chamber's seal is torn").click("Take instrument out of use")
    manager.click("Today")
    expect(manager.answer).not_to_contain_text("OW-1")
    expect(manager.page.locator("main")).to_contain_text("out of use, OW-1: The chamber's seal is torn")
    before = plant.one("SELECT count(*) FROM bench_run")
    analyst.click("Shift")
    analyst.page.locator("[data-settings] [name=instrument]").select_option(
        str(plant.one("SELECT id FROM register_instrument WHERE name = 'OW-1'"))
    )
    row = analyst.page.locator("tr[data-row]").first
    row.locator("[name=sample_temperature_c]").fill("25.0")
    row.locator("[name=a_w]").fill("0.6312")
    row.locator("[name=a_w]").press("Enter")
    expect(row.get_by_role("alert").first).to_contain_text("OW-1 is out of use: The chamber's seal is torn")
    assert plant.one("SELECT count(*) FROM bench_run") == before


def test_both_incidents_are_three_clicks_from_today(desk: Callable[[str], Desk]) -> None:
    manager = desk("mfarrow")
    manager.click("Check of OW-1")
    assert manager.clicks <= CLICKS
    expect(manager.answer).to_have_text("No: the check failed")
    expect(manager.page.locator("main")).to_contain_text("NaCl reads low")
    expect(manager.page.locator("main")).to_contain_text("Read since the last good check")
    expect(manager.page.get_by_role("link", name=re.compile(r"^Lot SB-\d{4}-\d\d")).first).to_be_visible()
    manager.click("Today")
    manager.clicks = 0
    manager.click("Run ")
    assert manager.clicks <= CLICKS
    expect(manager.answer).to_have_text("Two people keyed different numbers")
    expect(manager.page.locator("main")).to_contain_text(SWAPPED)

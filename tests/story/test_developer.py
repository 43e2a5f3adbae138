"""A newcomer's first isotherm: from a spreadsheet of points to a moisture limit with its interval, and kept."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from pathlib import Path

import pymupdf
import xlsxwriter
from playwright.sync_api import expect
from tests.served import Plant
from tests.story.desk import Desk

FITTED_MS = 600_000  # the first fit on a computer compiles the kernels
PRODUCT = "Soft oat bar"
# an invented bar: GAB with monolayer 0.060, C 12, K 0.90, with a scatter made up once
POINTS = (
    ("0.113", "4.11"), ("0.225", "5.78"), ("0.328", "7.33"), ("0.432", "8.60"), ("0.529", "10.62"), ("0.577", "11.54"),
    ("0.689", "14.72"), ("0.753", "17.68"), ("0.806", "20.70"), ("0.843", "23.52"),
)  # fmt: skip
LIMIT = re.compile(r"for a_w 0\.60: ([\d.]+) to ([\d.]+) kg/kg dry basis \(([\d.]+) to ([\d.]+) % wet basis\)$")


def spreadsheet(folder: Path) -> Path:
    """A workbook as a laboratory keeps it."""
    place = folder / "soft-bar-sorption.xlsx"
    with xlsxwriter.Workbook(place) as book:
        sheet = book.add_worksheet("25 C")
        sheet.write_row(0, 0, ("Jar", "Water activity", "Moisture, g/100 g dry basis"))
        for row, (a_w, moisture) in enumerate(POINTS, 1):
            sheet.write_row(row, 0, (f"J{row}", float(a_w), float(moisture)))
    return place


def test_from_a_spreadsheet_to_a_moisture_limit(
    plant: Plant, desk: Callable[[str], Desk], tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    file = spreadsheet(tmp_path)
    developer, begun = desk("jsorrel"), time.perf_counter()
    before, typed = plant.last_line, 0
    typed += the_file_is_chosen(developer, file)
    typed += its_columns_are_known(developer)
    developer.click("Fit the isotherm")
    expect(developer.answer).to_contain_text("Moisture limit for", timeout=FITTED_MS)
    fitted = time.perf_counter() - begun
    typed += the_limit_of_the_newcomer(developer)
    seconds, acts = time.perf_counter() - begun, developer.clicks + typed
    assert [kind for kind in plant.kinds(before) if kind.startswith("study")] == ["study_added", "study_fitted"]
    the_same_file_again(developer, file, plant)
    kept_and_in_force(developer, plant)
    record_property(
        "measured",
        f"a newcomer's first moisture limit: {seconds:.0f} s at the machine's pace ({fitted:.0f} s of it until the fit "
        f"was shown, first use compiles), {acts} acts: {developer_acts(acts, seconds)}",
    )


def developer_acts(acts: int, seconds: float) -> str:
    """What it would take a person who needs four seconds an act."""
    return f"about {seconds + 4 * acts:.0f} s for a person at 4 s an act"


def the_file_is_chosen(developer: Desk, file: Path) -> int:
    """From Today; returns how many fields were filled."""
    developer.click("Studies").click("Add study")
    developer.page.locator("[name=product]").first.select_option(label=PRODUCT)
    developer.page.locator("[name=file]").set_input_files(file)
    developer.click("Look at the points")
    return 2


def its_columns_are_known(developer: Desk) -> int:
    """The headings are understood; what no heading says is asked for at its field, and nothing is lost."""
    page = developer.page
    expect(developer.answer).to_have_text("10 points of soft-bar-sorption.xlsx may be fitted")
    assert page.locator("[name=columns_a_w]").input_value() == "Water activity"
    assert page.locator("[name=columns_moisture]").input_value() == "Moisture, g/100 g dry basis"
    assert page.locator("[name=basis]").input_value() == "moisture_db_percent"
    developer.fill(formula_version="7", temperature_c="25.0")
    developer.click("Fit the isotherm")
    expect(page.locator("#direction-error")).to_contain_text("adsorption or desorption")
    assert page.locator("[name=formula_version]").input_value() == "7"
    page.locator("[name=direction]").select_option("adsorption")
    return 3


def the_limit_of_the_newcomer(developer: Desk) -> int:
    """One field is changed, and the answer moves without the page being left."""
    expect(developer.answer).to_contain_text("for a_w 0.650:")  # the product's own limit
    field = developer.page.locator("#a_w_limit")
    field.fill("0.60")
    field.blur()
    expect(developer.answer).to_have_text(LIMIT)
    found = LIMIT.search(developer.answer.inner_text())
    assert found
    low, high, wet_low, wet_high = map(float, found.groups())
    assert 0.11 < low < 0.1218 < high < 0.13  # the invented bar has 0.1218 there
    assert 9.9 < wet_low < 10.86 < wet_high < 11.5
    expect(developer.page.locator("main")).to_contain_text("Keep at or below 0.1")
    field.fill("0.95")
    field.blur()
    expect(developer.answer).to_have_text("No answer to what is asked")
    expect(developer.page.locator("#a_w_limit-error")).to_contain_text("0.113 to 0.843, the range that was fitted")
    field.fill("0.60")
    field.blur()
    expect(developer.answer).to_have_text(LIMIT)
    return 1


def the_same_file_again(developer: Desk, file: Path, plant: Plant) -> None:
    """It is study 1 already, and the page says so."""
    at, before = developer.page.url, plant.one("SELECT count(*) FROM studies_study")
    the_file_is_chosen(developer, file)
    developer.fill(formula_version="7", temperature_c="25.0")
    developer.page.locator("[name=direction]").select_option("adsorption")
    developer.click("Fit the isotherm")
    expect(developer.page.get_by_role("alert").first).to_contain_text("already: soft-bar-sorption.xlsx")
    assert plant.one("SELECT count(*) FROM studies_study") == before
    developer.page.goto(at)


def kept_and_in_force(developer: Desk, plant: Plant) -> None:
    """Printed, signed, shown at the product, asked there, and refused for another recipe."""
    place = developer.page.get_by_role("link", name="Print the sheet").get_attribute("href")
    sheet = developer.context.request.get(developer.address + str(place))
    with pymupdf.open(stream=sheet.body(), filetype="pdf") as paper:
        assert "for a_w 0.60" in " ".join(paper[0].get_text().split())
    developer.click("Keep as the product's isotherm")
    developer.fill(reason="First isotherm of recipe 7", password=plant.password).click("Keep the isotherm")
    expect(developer.answer).to_contain_text("adsorption at 25.0 °C, formula 7")
    developer.fill(ask_a_w="0.50").press("Ask the isotherm")
    expect(developer.page.locator("#asked")).to_contain_text("Moisture at a_w 0.50")
    developer.fill(ask_formula="8").press("Ask the isotherm")
    expect(developer.page.locator("#asked")).to_contain_text("measured on formula version 7; about 8 it says nothing")
    developer.click(PRODUCT)
    row = developer.page.get_by_role("listitem").filter(has_text="Isotherm 1")
    expect(row).to_contain_text("in force")

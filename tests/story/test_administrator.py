"""The administrator: an empty folder becomes a plant, people come in by one-time links, screens lock, accounts lock."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from tests import served
from tests.served import Plant
from tests.story.desk import Desk

OWN, ANALYSTS = "a long walk before breakfast", "seven grey herons at noon"
TRIES = 5


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Plant]:
    """A site on a folder that was not there."""
    plant = Plant(tmp_path / "new-plant")
    with served.serving(plant):
        yield plant


def test_from_an_empty_folder_to_a_locked_account(empty: Plant, chromium: Browser) -> None:
    assert empty.served
    link, address = str(empty.served.said["setup_link"]), empty.served.address
    administrator, analyst = Desk(chromium, address), Desk(chromium, address)
    the_plant_is_set_up(administrator, link)
    invitation = an_analyst_is_invited(administrator)
    the_analyst_comes_in(analyst, invitation)
    links_work_once(Desk(chromium, address), link, invitation)
    the_screen_is_locked_and_unlocked(analyst, empty)
    five_bad_tries_and_the_administrator(Desk(chromium, address), administrator)
    told = [kind for kind in empty.kinds() if kind in ("site_set_up", "person_invited", "password_set", "locked_out")]
    assert told[:2] == ["site_set_up", "person_invited"]
    assert "locked_out" in told


def the_plant_is_set_up(administrator: Desk, link: str) -> None:
    """The link that the command printed; two passwords that differ are refused at the field, the rest is kept."""
    administrator.page.goto(link)
    typed = {"name": "Reed Lane Biscuits", "laboratory": "Bench 1", "address": "Invented plant", "username": "hmarsh"}
    administrator.fill(**typed, printed_name="Hale Marsh-Ingram", new_password=OWN, again=OWN + "s")
    administrator.click("Set up the plant")
    expect(administrator.page.locator("#again-error")).to_contain_text("allowed")
    expect(administrator.page.locator("[name=name]")).to_have_value("Reed Lane Biscuits")
    administrator.fill(new_password=OWN, again=OWN).click("Set up the plant")
    expect(administrator.page).to_have_title(re.compile("^Today"))
    expect(administrator.answer).to_contain_text("this bench is new")


def an_analyst_is_invited(administrator: Desk) -> str:
    """Returns the one-time link that is shown."""
    administrator.page.locator("[data-menu] summary").click()
    administrator.click("People")
    administrator.fill(printed_name="Wren Aldous-Pike", username="waldous")
    administrator.page.get_by_label("analyst", exact=True).check()
    administrator.click("Invite person")
    link = administrator.page.locator("code").inner_text()
    administrator.click("Back to the people")
    expect(administrator.page.get_by_role("row", name="Wren Aldous-Pike")).to_contain_text("analyst")
    return link


def the_analyst_comes_in(analyst: Desk, invitation: str) -> None:
    """The link asks for a password, names whose account it is, and leads to Today."""
    analyst.page.goto(invitation)
    expect(analyst.page.locator("main")).to_contain_text("Wren Aldous-Pike")
    analyst.fill(new_password="short", again="short").click("Set the password")
    expect(analyst.page.locator("#new_password-error")).to_contain_text("allowed")
    analyst.fill(new_password=ANALYSTS, again=ANALYSTS).click("Set the password")
    expect(analyst.page).to_have_title(re.compile("^Today"))


def links_work_once(somebody: Desk, *links: str) -> None:
    """A used link opens nothing."""
    for link in links:
        somebody.page.goto(link)
        expect(somebody.answer).to_contain_text("This link was used, or has expired.")
    somebody.leave()


def the_screen_is_locked_and_unlocked(analyst: Desk, plant: Plant) -> None:
    """Locked by hand, and by itself after the plant's idle minutes; only the own password opens it again."""
    analyst.page.clock.install()
    analyst.open("/hand-over/")
    analyst.page.locator("[data-menu] summary").click()
    analyst.click("Lock this screen")
    analyst.open("/lots/")
    expect(analyst.answer).to_have_text("Locked")
    analyst.fill(password=OWN).click("Go on")
    expect(analyst.answer).to_have_text("Locked")
    analyst.fill(password=ANALYSTS).click("Go on")
    expect(analyst.page).to_have_title(re.compile("^Lots"))
    analyst.open("/hand-over/")
    expect(analyst.page.locator("html[data-ready=yes]")).to_be_attached()
    analyst.fill(text="Half a sentence")
    minutes = int(plant.one("SELECT idle_minutes FROM people_site"))
    with analyst.page.expect_navigation():
        analyst.page.clock.fast_forward(f"{minutes + 1}:00")
    expect(analyst.answer).to_have_text("Locked")
    analyst.fill(password=ANALYSTS).click("Go on")
    expect(analyst.page).to_have_title(re.compile("^Hand-over"))


def five_bad_tries_and_the_administrator(somebody: Desk, administrator: Desk) -> None:
    """Five wrong passwords lock the account, right ones too; the administrator opens it."""
    somebody.open("/sign-in/")
    for n in range(1, TRIES + 1):
        somebody.fill(username="waldous", password=f"wrong password {n}").click("Sign in", exact=True)
    expect(somebody.page.locator("main")).to_contain_text("this account is locked")
    somebody.fill(username="waldous", password=ANALYSTS).click("Sign in", exact=True)
    expect(somebody.page.locator("main")).to_contain_text("this account is locked")
    administrator.click("Wren Aldous-Pike")
    expect(administrator.page.locator("main")).to_contain_text("Locked out after failed attempts")
    administrator.click("Unlock after failed attempts")
    somebody.open("/sign-in/").give("waldous", ANALYSTS)

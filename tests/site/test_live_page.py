"""The live page in the real browser, its readings sent as a bench agent sends them; hands on the keyboard only."""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests import served
from tests.outlets.site.live.capturing import samples
from tests.served import Plant
from tests.site.browsing import EVERY_VISIT, Watched, sign_in, watched
from tests.site.live_bench import Agent
from tests.story.made import checked_and_read

from isohume.bench.reading.settling import prepare_forecast

NOTED = "document.addEventListener('isohume:notice', e => (window.noted ??= []).push(e.detail.title))"
FREE_OF_RESTART = ("ERR_CONNECTION", "ERR_INCOMPLETE", "ERR_EMPTY", "Service Worker", "422")
PATIENT_MS = 30_000


@pytest.fixture(scope="module")
def bench(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Plant]:
    """Plant A, served; OW-1 may measure, whatever the hour and the day of the week."""
    prepare_forecast()  # compiled before, so that nobody waits for it here
    plant = served.copy_of(demo_folder, tmp_path_factory.mktemp("live") / "data")
    checked_and_read(plant, {})
    with served.serving(plant):
        yield plant


@pytest.fixture(scope="module")
def agent(bench: Plant) -> Agent:
    """Its bench computer."""
    return Agent(bench)


def at_live(chromium: Browser, bench: Plant, who: str) -> Iterator[Watched]:
    """Somebody's browser at the live page, its notices noted."""
    assert bench.served
    with watched(chromium, bench.served.address, bench.served.said["live"]) as seen:
        sign_in(seen, who, bench.password)
        seen.page.add_init_script(NOTED)
        seen.go("/live/")
        yield seen


@pytest.fixture
def analyst(chromium: Browser, bench: Plant) -> Iterator[Watched]:
    yield from at_live(chromium, bench, "rhale")


@pytest.fixture
def manager(chromium: Browser, bench: Plant) -> Iterator[Watched]:
    yield from at_live(chromium, bench, "mfarrow")


def faults(seen: Watched) -> list[str]:
    """What was wrong, without what a broken connection says of itself."""
    return [fault for fault in seen.taken() if not any(word in fault for word in FREE_OF_RESTART)]


def card(page: Page, instrument: str) -> Page:
    """The card of an instrument."""
    return page.locator("[data-bay]", has=page.get_by_role("heading", name=instrument, exact=True))


def noted(page: Page) -> list[str]:
    """The notices that were given."""
    return page.evaluate("window.noted ?? []")


def live_process(bench: Plant) -> int:
    """The number of the process that holds the streams now."""
    log = (bench.folder / "log" / "live.log").read_text(encoding="utf-8")
    return int(re.findall(r"started as process (\d+)", log)[-1])


def test_from_the_start_to_an_accepted_reading_by_keyboard(analyst: Watched, bench: Plant, agent: Agent) -> None:
    page, one = analyst.page, card(analyst.page, "OW-1")
    expect(one.locator("[data-state]")).to_have_text("no run", timeout=PATIENT_MS)
    agent.say("OW-1", "warming up", "23.9")
    expect(one.locator("[data-block]")).to_contain_text("block 23.9 °C, outside the method's", timeout=PATIENT_MS)
    agent.say("OW-1", "ready", "25.0")
    expect(one.locator("[data-said]")).to_have_text("ready", timeout=PATIENT_MS)

    page.keyboard.press("n")
    expect(page.locator("#choice")).to_be_focused()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    expect(one.locator("[data-answer-here]")).to_contain_text("start the run now", timeout=PATIENT_MS)
    expect(one.locator("[data-next]")).to_contain_text("/", timeout=PATIENT_MS)

    agent.start("OW-1", "r1", "0041")
    agent.read("OW-1", "r1", samples("0.6330", last=40))
    expect(one.locator("[data-which]")).to_contain_text("run 0041, 39 s", timeout=PATIENT_MS)
    expect(one.locator("[data-state]")).to_have_text("not settled", timeout=PATIENT_MS)
    expect(one.locator("svg .band")).to_be_attached(timeout=PATIENT_MS)
    expect(one.locator("[data-left]")).to_contain_text("Settles in about", timeout=PATIENT_MS)
    expect(one.locator("[data-accept-button]")).to_be_disabled()
    before = one.locator("[data-start]").bounding_box()
    drawn = one.locator("path.trace").get_attribute("d")
    agent.read("OW-1", "r1", samples("0.6330", first=40, last=120))
    expect(one.locator("[data-which]")).to_contain_text("119 s", timeout=PATIENT_MS)
    assert one.locator("path.trace").get_attribute("d") != drawn
    agent.read("OW-1", "r1", samples("0.6330", first=120, last=330))
    expect(one.locator("[data-state]")).to_contain_text("settled: 0.63", timeout=PATIENT_MS)
    assert one.locator("[data-start]").bounding_box() == before, "nothing moves under a finger"
    assert noted(page) == ["OW-1: settled"]
    agent.end("OW-1", "r1")
    expect(one.locator("[data-accept-button]")).to_be_enabled(timeout=PATIENT_MS)

    page.keyboard.press("t")
    expect(one.get_by_role("cell", name="the last reading")).to_be_visible()
    page.keyboard.press("t")
    assert analyst.look(EVERY_VISIT) + faults(analyst) == []
    page.evaluate("document.activeElement?.blur()")
    page.keyboard.press("a")
    expect(one.locator("[data-answer-here]")).to_contain_text("Accepted: run", timeout=PATIENT_MS)
    expect(one.locator("[data-state]")).to_have_text("no run", timeout=PATIENT_MS)
    assert bench.one("SELECT count(*) FROM captures_capturedrun WHERE fate = 'accepted'") == 1
    assert noted(page) == ["OW-1: settled"]
    assert faults(analyst) == []


def test_a_run_gone_wrong_is_told_once_also_after_the_live_process_was_killed(
    manager: Watched, bench: Plant, agent: Agent
) -> None:
    page, two = manager.page, card(manager.page, "OW-2")
    expect(page.locator("[data-line]")).to_have_text("The readings come as they are taken.", timeout=PATIENT_MS)
    agent.start("OW-2", "w1", "0108")
    for first in range(0, 240, 30):
        agent.read("OW-2", "w1", samples("0.6500", pace_s=15.0, first=first, last=first + 30, warm_k=3.0))
    expect(two.locator("[data-state]")).to_have_text("not settled: warm sample", timeout=PATIENT_MS)
    expect(two.locator("[data-words]")).to_contain_text("Let the sample come to the block's temperature")
    expect(two.locator("[data-of]")).to_have_text("Nobody has said what it reads")
    assert noted(page) == ["OW-2: warm sample"]

    os.kill(live_process(bench), signal.SIGKILL)
    expect(page.locator("[data-line]")).to_contain_text("what stands here may be old", timeout=PATIENT_MS)
    expect(page.locator("[data-line]")).to_have_text("The readings come as they are taken.", timeout=PATIENT_MS)
    agent.read("OW-2", "w1", samples("0.6500", pace_s=15.0, first=240, last=250, warm_k=3.0))
    expect(two.locator("[data-which]")).to_contain_text("4 min 9 s", timeout=PATIENT_MS)
    assert noted(page) == ["OW-2: warm sample"]
    manager.go("/live/")
    expect(two.locator("[data-state]")).to_have_text("not settled: warm sample", timeout=PATIENT_MS)
    assert noted(page) == [], "a page opened again shows it and does not tell it"

    page.keyboard.press("j")
    expect(two).to_be_focused()
    page.keyboard.press("v")
    expect(two.locator("[data-void] select")).to_be_focused()
    page.keyboard.press("Escape")
    expect(two).to_be_focused()
    page.keyboard.press("v")
    two.locator("[data-void] select").select_option("warm-sample")
    page.keyboard.press("Enter")
    page.keyboard.type("3 K warmer than the block")
    page.keyboard.press("Enter")
    expect(two.locator("[data-answer-here]")).to_contain_text("Voided, with its cause.", timeout=PATIENT_MS)
    expect(two.locator("[data-state]")).to_have_text("no run", timeout=PATIENT_MS)
    assert bench.one("SELECT void_cause FROM captures_capturedrun WHERE fate = 'void'") == "warm-sample"
    assert faults(manager) == []


def test_a_refusal_stands_where_the_button_is(analyst: Watched, bench: Plant, agent: Agent) -> None:
    page, two = analyst.page, card(analyst.page, "OW-2")
    agent.start("OW-2", "o1", "0109")
    agent.read("OW-2", "o1", samples("0.6500", last=20))
    expect(two.locator("[data-which]")).to_contain_text("run 0109", timeout=PATIENT_MS)
    page.keyboard.press("j")
    expect(two.locator("[data-start-word]")).to_have_text("Say what it reads")
    page.keyboard.press("v")
    two.locator("[data-void] select").select_option("leak")
    two.locator("[data-void] button[type=submit]").click()
    expect(two.locator("[data-answer-here]")).to_contain_text("Nobody has said whose it is", timeout=PATIENT_MS)
    page.keyboard.press("Escape")
    two.locator("[data-start]").click()
    expect(page.locator("[data-for]")).to_contain_text("Say what run 0109 on OW-2 is of")
    page.locator("#choice").select_option(index=2)
    page.locator("[data-start-form] button[type=submit]").click()
    said = page.locator("[data-start-form] [data-answer-here]")
    expect(said).to_contain_text("how it is known", timeout=PATIENT_MS)
    page.locator("[data-start-form] #reason").fill("The cup stands in the chamber")
    page.locator("[data-start-form] button[type=submit]").click()
    expect(two.locator("[data-of]")).to_contain_text("/", timeout=PATIENT_MS)
    assert faults(analyst) == []


def test_scanned_codes_land_in_the_form_wherever_the_focus_is(analyst: Watched, bench: Plant) -> None:
    page = analyst.page
    instrument = bench.one("SELECT id FROM register_instrument WHERE name = 'OW-2'")
    page.keyboard.type(f"iso:i:{instrument}")
    page.keyboard.press("Enter")
    expect(page.locator("#instrument")).to_have_value(f"iso:i:{instrument}")
    expect(card(page, "OW-2")).to_have_attribute("data-current", "")
    bottle = bench.one("SELECT min(id) FROM register_bottle WHERE discarded_at IS NULL AND opened_at IS NOT NULL")
    page.keyboard.type(f"iso:b:{bottle}")
    page.keyboard.press("Enter")
    expect(card(page, "OW-2").locator("[data-answer-here]")).to_contain_text("start the run now", timeout=PATIENT_MS)
    expect(card(page, "OW-2")).to_be_focused()
    assert faults(analyst) == []


def test_how_to_be_told_is_each_persons_own_choice(analyst: Watched, bench: Plant) -> None:
    page = analyst.page
    page.locator("#notices #sound").check()
    page.locator("#notices button[type=submit]").click()
    expect(page.locator("[data-notices-say]")).to_have_text("Your choice is kept.", timeout=PATIENT_MS)
    analyst.go("/live/")
    expect(page.locator("#notices #sound")).to_be_checked()
    expect(page.locator("#notices #browser")).not_to_be_checked()
    whose = "SELECT username FROM captures_noticechoice JOIN people_person AS person ON person.id = person_id"
    assert bench.ask(whose) == [("rhale",)]
    page.locator("[data-notices-try]").click()
    page.wait_for_function("() => (window.noted ?? []).includes('A try')")
    assert faults(analyst) == []

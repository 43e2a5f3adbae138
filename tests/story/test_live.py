"""An instrument that speaks: a check and two samples live, one voided with its cause, and all accounted for."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from playwright.sync_api import Locator, expect
from tests.served import COMMAND, Plant, in_the_site
from tests.story.desk import Desk

STARTED = """
from datetime import timedelta
from django.utils import timezone
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.receive_sample import ReceiveSample
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, Product
by = lambda: By(Person.objects.get(username="rhale"), timezone.now())
on_since = (timezone.now() - timedelta(minutes=45)).isoformat()
instrument, method = Instrument.objects.get(name="OW-1"), MethodVersion.objects.get()
perform(FillStartSheet(instrument, method, "21.4", "46", on_since, "25.0"), by())
lot = perform(ReceiveLot(Product.objects.get(name="Soft oat bar"), "SB-LIVE-1"), by())
sample = perform(ReceiveSample(lot, "line 1, middle of the run", "", "yes", portions=2), by())
named = lambda salt: Bottle.objects.filter(solution_lot__solution=salt).order_by("pk").first().pk
print(*[named(salt) for salt in ("MgCl2", "NaCl")], *sample.portions.order_by("pk").values_list("pk", flat=True))
"""
PATIENCE_MS = 60_000


@contextmanager
def running(*words: str) -> Iterator[subprocess.Popen[str]]:
    """A verb of isohume, until it is stopped."""
    process = subprocess.Popen((*COMMAND, *words), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    try:
        yield process
    finally:
        process.terminate()
        process.communicate(timeout=30)


class Instrument:
    """The invented instrument, and the hand that lays cups into it."""

    def __init__(self, hands: IO[str]) -> None:
        self._hands = hands

    def lay_in(self, cup: str) -> None:
        self._hands.write(f"{cup}\n")
        self._hands.flush()

    def take_out(self) -> None:
        self.lay_in("out")


def bay_of(desk: Desk) -> Locator:
    """The card of OW-1 on the live page."""
    return desk.page.locator("section.bay", has=desk.page.get_by_role("heading", name="OW-1"))


def say_next(desk: Desk, code: str) -> None:
    """By the keyboard and the scanner alone: n, the code, Enter."""
    desk.page.locator("section.bay").first.focus()
    desk.page.keyboard.press("n")
    desk.page.locator("[data-start-form] [name=of]").fill(code)
    desk.page.keyboard.press("Enter")
    for _ in range(3):  # the two reasons that nobody asked for
        if desk.page.locator("[data-start-form] [data-answer-here]").inner_text():
            break
        desk.page.keyboard.press("Enter")
    expect(desk.page.locator("[data-start-form] [data-answer-here]")).to_contain_text("start the run now")


def test_from_the_cable_to_the_accounting(
    plant: Plant, address: str, desk: Callable[[str], Desk], tmp_path: Path
) -> None:
    mgcl2, nacl, first, second = in_the_site(plant.folder, STARTED).split()
    manager = desk("mfarrow").open("/agents/")
    manager.fill(called="bench 1").click("Register agent")
    token = tmp_path / "capture.token"
    token.touch(mode=0o600)
    token.write_text(manager.page.locator("p.code code").first.inner_text())
    port, rule = tmp_path / "port", tmp_path / "ow1.toml"
    analyst = desk("rhale").open("/live/")
    instrument_words = ("--instrument-demo", "--instrument", "OW-1", "--link", str(port), "--pace", "40", "--seed", "7")
    with running("capture", *instrument_words) as demo:
        assert demo.stdout is not None
        assert demo.stdin is not None
        text = []
        for line in demo.stdout:
            text.append(line)
            if line.startswith("# The instrument runs"):
                break
        rule.write_text("".join(text))
        spool = ("--spool", str(tmp_path / "spool"))
        with running("capture", "--rule", str(rule), "--site", address, "--token-file", str(token), *spool):
            hand = Instrument(demo.stdin)
            check_live(analyst, hand, {"0.3278 1200 s": f"iso:b:{mgcl2}", "0.7529 1200 s": f"iso:b:{nacl}"})
            accept_live(analyst, hand, "0.632 1200 s", f"iso:p:{first}")
            void_live(analyst, manager, hand, "0.640 warm 1200 s", f"iso:p:{second}")
            wait_until_ended(plant, manager)
    account = manager.open("/accounting/")
    rows = account.page.get_by_role("row")
    expect(rows.filter(has_text="check").first).to_be_visible()
    expect(rows.filter(has_text="counts").filter(has_text="SB-LIVE-1").first).to_be_visible()
    expect(rows.filter(has_text="void").filter(has_text="SB-LIVE-1").first).to_contain_text("warm")
    expect(account.page.get_by_text("No number is missing.").first).to_be_visible()
    assert plant.one("SELECT count(*) FROM captures_capturedrun") == 4
    assert plant.one("SELECT count(*) FROM captures_chunk") == 0  # every trace is evidence now


def settled(analyst: Desk, hand: Instrument, cup: str, code: str) -> Locator:
    """Say what is next, lay it in, and wait until the page says that it has settled."""
    bay = bay_of(analyst)
    before = bay.locator("[data-run-link]").get_attribute("href")
    say_next(analyst, code)
    hand.lay_in(cup)
    expect(bay.locator("[data-run-link]")).not_to_have_attribute("href", before or "", timeout=PATIENCE_MS)
    expect(bay.locator("[data-state]")).to_contain_text(re.compile("^settled"), timeout=PATIENCE_MS)
    hand.take_out()
    return bay


def wait_until_ended(plant: Plant, desk: Desk) -> None:
    """The trace of a void run is kept to its end."""
    for _ in range(PATIENCE_MS // 200):
        if plant.one("SELECT count(*) FROM captures_capturedrun WHERE ended_at IS NULL") == 0:
            return
        desk.page.wait_for_timeout(200)
    raise AssertionError("a run goes on")


def check_live(analyst: Desk, hand: Instrument, solutions: dict[str, str]) -> None:
    """Two reference solutions, then the check from their traces: nobody types a number."""
    for cup, code in solutions.items():
        settled(analyst, hand, cup, code)
    bay_of(analyst).get_by_role("link", name="Record a check").click()
    boxes = analyst.page.get_by_role("checkbox", name=re.compile("^Take"))
    expect(boxes).to_have_count(len(solutions))
    for box in boxes.all():
        box.check()
    analyst.click("Judge and keep this check")
    expect(analyst.page.get_by_role("main")).to_contain_text("OW-1")
    expect(analyst.answer).to_contain_text("Yes, between 0.32")
    analyst.open("/live/")


def accept_live(analyst: Desk, hand: Instrument, cup: str, code: str) -> None:
    """A settled sample is accepted by one key."""
    bay = settled(analyst, hand, cup, code)
    expect(bay.locator("[data-accept-button]")).to_be_enabled(timeout=PATIENCE_MS)
    bay.focus()
    analyst.page.keyboard.press("a")
    expect(bay.locator("[data-answer-here]").first).to_contain_text("Accepted: run")


def void_live(analyst: Desk, manager: Desk, hand: Instrument, cup: str, code: str) -> None:
    """A warm cup shows itself; a second person voids it with the cause."""
    say_next(analyst, code)
    hand.lay_in(cup)
    words = bay_of(analyst).locator("[data-words]")
    expect(words).to_contain_text("warm", timeout=PATIENCE_MS)
    manager.open("/live/")
    bay = bay_of(manager)
    expect(bay.locator("[data-void-open]")).to_be_enabled(timeout=PATIENCE_MS)
    bay.focus()
    manager.page.keyboard.press("v")
    bay.locator("[data-void] [name=cause]").select_option("warm-sample")
    bay.get_by_role("button", name="Void this run").click()
    hand.take_out()
    expect(bay.locator("[data-answer-here]").first).to_contain_text("Voided, with its cause")

"""What an analyst does at the bench, act by act, with the keyboard and the scanner."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from playwright.sync_api import Locator, expect
from tests.served import Plant
from tests.story.keyboard import Hands

from isohume.foundation.solutions import reference_value

ZONE = ZoneInfo("Europe/London")
BOTTLES = """
SELECT b.id, s.solution FROM register_bottle b JOIN register_solutionlot s ON s.id = b.solution_lot_id ORDER BY b.id
"""


@dataclass(frozen=True)
class Cup:
    """A cup on the bench, and what the instrument shows for it."""

    pk: int
    lot: str
    a_w: str
    temperature_c: str = "25.1"

    @property
    def code(self) -> str:
        """What its label says to a scanner."""
        return f"iso:p:{self.pk}"


@dataclass(frozen=True)
class Handled:
    """What one sample took: both its cups, from the first row's focus to the second row saved."""

    acts: int
    keys: int
    seconds: float


def fill_start_sheet(hands: Hands, instrument: int) -> None:
    """Room, warm-up, block; from the list of checks and back to it."""
    hands.follow("Fill in a start sheet", "Start sheet")
    hands.scan(f"iso:i:{instrument}")
    hands.enter()  # the only method
    hands.enter("21.4")
    hands.enter("46")
    hands.when(datetime.now(ZONE) - timedelta(minutes=45))
    hands.enter()
    hands.enter("25.0")
    expect(hands.page.get_by_role("heading", level=1)).to_have_text("OW-1 may start")
    hands.arrive("Start sheet")
    hands.press("Escape")
    hands.arrive("Checks")


def log_cleaning(hands: Hands, instrument: int) -> None:
    """The cleaning log; from the list of checks and back to it."""
    hands.follow("Log a cleaning", "Log a cleaning")
    hands.scan(f"iso:i:{instrument}")
    hands.enter("Chamber, rim and seal wiped with lint-free tissue; dried 10 minutes")
    hands.enter()  # done now
    expect(hands.page.get_by_text("No check names it yet.")).to_be_visible()
    hands.arrive("Log a cleaning")
    hands.press("Escape")
    hands.arrive("Checks")


def check_four_references(hands: Hands, plant: Plant, instrument: int) -> None:
    """Scan each bottle and type what the instrument shows; ends on the page of the check."""
    hands.follow("Record a check", "Record a check")
    hands.scan(f"iso:i:{instrument}")
    bottles = plant.ask(BOTTLES)
    assert len(bottles) == 4
    for bottle, solution in bottles:
        hands.scan(f"iso:b:{bottle}")
        hands.enter("25.1")
        hands.write(f"{reference_value(solution, 25.1).a_w + 0.0007:.4f}")
    hands.press("Enter")
    hands.go_to("Judge and keep this check")
    hands.press("Enter")
    hands.arrive("Check ")
    expect(hands.page.get_by_role("heading", level=1)).to_contain_text("Yes, between 0.11")


def receive_lot(hands: Hands, code: str, position: str) -> None:
    """A lot with one sample in two cups, through the pages; begins and ends anywhere with the way to the shift."""
    hands.follow("Receive a lot", "Receive a lot")
    hands.write("Soft")  # the first letters choose the product
    hands.enter()
    hands.enter(code)
    hands.go_to("Receive lot")
    hands.press("Enter")
    hands.arrive("Receive a sample")
    assert hands.focused().startswith("Position")
    hands.enter(position)
    hands.press("ArrowRight")
    hands.press("ArrowLeft")  # yes, sealed
    hands.enter()
    hands.enter("24.9")
    hands.go_to("Receive sample")
    hands.press("Enter")
    expect(hands.page.locator(".answer [role=status]")).to_contain_text("with cups A, B")
    hands.arrive("Receive a sample")


class Grid:
    """The grid of the shift."""

    def __init__(self, hands: Hands) -> None:
        self.hands = hands

    def row(self, cup: Cup) -> Locator:
        """The row of a cup."""
        return self.hands.page.locator(f"#portion-{cup.pk}")

    def wait_saved(self, cup: Cup) -> None:
        """Until the server has acknowledged the row; seen at once, for it is timed."""
        self.hands.page.locator(f"#portion-{cup.pk}[data-saved]").wait_for(state="attached")

    def type_temperature(self, cup: Cup) -> None:
        """The sample's temperature, unless it was taken a moment ago and stands there already."""
        self.row(cup).locator("input:focus").wait_for()
        if self.hands.focused().startswith("Sample temperature"):
            self.hands.enter(cup.temperature_c)

    def read(self, cup: Cup, *, scan: bool = True) -> None:
        """Scan the cup, type both numbers, Enter: the row is on its way."""
        if scan:
            self.hands.scan(cup.code)
        self.type_temperature(cup)
        self.hands.enter(cup.a_w)

    def handle(self, cups: list[Cup], pace_ms: float = 0) -> Handled:
        """Both cups of a sample, and what they took."""
        before, begun = replace(self.hands.counted), time.perf_counter()
        self.hands.pace_ms = pace_ms
        for cup in cups:
            self.read(cup)
        for cup in cups:
            self.wait_saved(cup)
        self.hands.pace_ms = 0
        now = self.hands.counted
        return Handled(now.acts - before.acts, now.keys - before.keys, time.perf_counter() - begun)

"""Hands on a keyboard and a scanner: nothing here touches a mouse, and what was pressed is counted."""

from __future__ import annotations

import re
import time
from dataclasses import dataclass, field
from datetime import datetime

from playwright.sync_api import BrowserContext, Page, expect

PATIENCE_MS = 30_000
MOST_TABS = 150
SCANNER_MS = 4  # between two keys of a scanner
POINTED = """
for (const kind of ["pointerdown", "mousedown", "touchstart", "wheel"]) addEventListener(kind, notePointing, true);
"""
FOCUSED = """() => {
  const one = document.activeElement;
  const said = one.labels?.length ? one.labels[0].innerText : (one.getAttribute("aria-label") ?? one.innerText ?? "");
  return said.replace(/\\s+/g, " ").trim();
}"""

expect.set_options(timeout=PATIENCE_MS)


@dataclass
class Counted:
    """What was pressed: every key, every scan as one act, every field or button as one act."""

    keys: int = 0
    acts: int = 0
    scans: int = 0


@dataclass
class Hands:
    """A person at a page, with gloves, a keyboard and a scanner."""

    page: Page
    pace_ms: float = 0.0
    counted: Counted = field(default_factory=Counted)

    def write(self, text: str) -> None:
        """Type a text where the cursor is."""
        self.page.keyboard.type(text, delay=self.pace_ms)
        self.counted.keys += len(text)

    def press(self, key: str, times: int = 1) -> None:
        """Press a key."""
        for _ in range(times):
            self.page.keyboard.press(key)
            self.counted.keys += 1
            if self.pace_ms:
                time.sleep(self.pace_ms / 1000)

    def enter(self, text: str = "") -> None:
        """Type a text and go on with Enter: one act."""
        self.write(text)
        self.press("Enter")
        self.counted.acts += 1

    def scan(self, code: str) -> None:
        """What a scanner does: all keys at once, then Enter: one act, no key of the person's."""
        self.page.keyboard.type(code, delay=SCANNER_MS)
        self.page.keyboard.press("Enter")
        self.counted.scans += 1
        self.counted.acts += 1

    def focused(self) -> str:
        """What the cursor is on, in the words a person reads."""
        return str(self.page.evaluate(FOCUSED))

    def go_to(self, words: str, *, back: bool = False) -> None:
        """Tab until the cursor is on what begins with these words."""
        wanted = re.compile(rf"\W*{re.escape(words)}")
        for _ in range(MOST_TABS):
            if wanted.match(self.focused()):
                return
            self.press("Shift+Tab" if back else "Tab")
        raise AssertionError(f"no way to '{words}' by Tab on {self.page.url}; the cursor is on '{self.focused()}'")

    def follow(self, words: str, heading: str) -> None:
        """Go to a link or button, press Enter, and wait for the page with this heading."""
        self.go_to(words)
        self.press("Enter")
        self.counted.acts += 1
        self.arrive(heading)

    def arrive(self, title: str) -> None:
        """Wait until the page with this title listens to keys."""
        expect(self.page).to_have_title(re.compile(rf"^{re.escape(title)}"))
        expect(self.page.locator("html[data-ready=yes]")).to_be_attached()

    def when(self, moment: datetime) -> None:
        """Fill in the field of day and time that has the cursor, part by part in the browser's own order."""
        self.write(f"{moment:%m%d%Y}")
        self.press("ArrowRight")
        self.write(f"{moment:%I%M%p}")

    def sign_in(self, address: str, username: str, password: str) -> None:
        """From the address of the site to Today."""
        self.page.goto(address)
        self.write(username)
        self.press("Tab")
        self.write(password)
        self.press("Enter")
        self.arrive("Today")


def watch_for_pointing(context: BrowserContext) -> list[str]:
    """Every use of a mouse, a finger or a wheel on any page of this context, as it comes."""
    pointed: list[str] = []
    context.expose_function("notePointing", lambda event: pointed.append(str(event)))
    context.add_init_script(POINTED)
    return pointed

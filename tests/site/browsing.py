"""A browser that notes everything a page should not do."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib.resources import files
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, ConsoleMessage, Page

AXE = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
# the sheets need not be fetched anew for every look
RUN_AXE = """async () => (await axe.run(document, {resultTypes: ["violations"], preload: false})).violations
  .map(v => `${v.id}: ${v.nodes.slice(0, 3).map(n => n.html.slice(0, 160)).join(" | ")}`)"""
OPEN = "() => document.querySelectorAll('main details').forEach(one => { one.open = true; })"
WIDER = """() => document.documentElement.scrollWidth > document.documentElement.clientWidth
  ? [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1
      && !e.closest('.scroll')).slice(0, 3).map(e => e.outerHTML.slice(0, 120)).concat('the page') : []"""
SMALL_TEXT = """() => [...document.querySelectorAll('body *')]
  .filter(e => !e.closest('svg') && e.localName !== 'sub' && e.getClientRects().length)
  .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
  .filter(e => parseFloat(getComputedStyle(e).fontSize) < 16).slice(0, 3).map(e => e.outerHTML.slice(0, 120))"""
SMALL_TARGET = """() => [...document.querySelectorAll('a, button, summary, select, input:not([type=hidden]), textarea')]
  .filter(e => e.getClientRects().length && !e.matches('.skip') && getComputedStyle(e).display !== 'inline')
  .map(e => e.matches('[type=radio], [type=checkbox]') ? e.closest('label') ?? e : e)
  .filter(e => e.getBoundingClientRect().height < 44).slice(0, 3).map(e => e.outerHTML.slice(0, 120))"""
Visits = tuple[tuple[int, str], ...]
EVERY_VISIT: Visits = ((1280, "light"), (1280, "dark"), (800, "light"), (800, "dark"))
ONE_VISIT: tuple[Visits, Visits] = (((1280, "light"),), ((800, "dark"),))  # by turns
BLOCKED = "Service Worker registration blocked by Playwright"
HEIGHT = 900


@dataclass
class Watched:
    """A page whose faults are noted as they come."""

    page: Page
    allowed: frozenset[str]
    faults: list[str] = field(default_factory=list)
    asked_for: int = 0

    def __post_init__(self) -> None:
        self.page.on("console", self._said)
        self.page.on("pageerror", lambda error: self.faults.append(f"script error: {error}"))
        self.page.on("request", lambda request: self._asked(request.url))

    def _said(self, message: ConsoleMessage) -> None:
        if BLOCKED in message.text:
            return  # the browser of the walk allows no worker, so that every answer is the server's own
        if message.type in ("error", "warning"):
            self.faults.append(f"{message.type}: {message.text} ({message.location.get('url', '')})")

    def _asked(self, url: str) -> None:
        self.asked_for += 1
        place = urlsplit(url)
        if place.netloc not in self.allowed or place.scheme not in ("http", "blob"):
            self.faults.append(f"asked another host: {url}")

    def go(self, address: str, status: int = 200) -> None:
        """Open a page that answers with this status."""
        answer = self.page.goto(address)
        assert answer is not None
        if answer.status != status:
            self.faults.append(f"answered {answer.status}")
        if status >= 400:  # the browser itself says so in its console, and that is no fault of the page
            self.faults = [fault for fault in self.faults if "Failed to load resource" not in fault]
        self.settle()

    def settle(self) -> None:
        """Until the page's own script is there; a later look sees no colour half way to another."""
        self.page.wait_for_selector("html[data-ready]")

    def look(self, visits: Visits) -> list[str]:
        """What is wrong with the page as it stands, at each width and in each light."""
        self.page.evaluate(OPEN)
        self.page.evaluate(AXE)
        found = []
        for width, theme in visits:
            self.page.set_viewport_size({"width": width, "height": HEIGHT})
            scheme: Any = theme
            self.page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
            said = [*self.page.evaluate(RUN_AXE), *(f"wider than the page: {one}" for one in self.page.evaluate(WIDER))]
            said += [f"text below 16 px: {one}" for one in self.page.evaluate(SMALL_TEXT)]
            said += [f"target below 44 px: {one}" for one in self.page.evaluate(SMALL_TARGET)]
            found += [f"{width} {theme}: {one}" for one in said]
        return found

    def walk(self, examples: list[str]) -> dict[str, list[str]]:
        """What is wrong with each address: the first one seen in every way, the others once each, by turns."""
        found = {}
        for number, address in enumerate(examples):
            self.go(address)
            said = self.look(EVERY_VISIT if number == 0 else ONE_VISIT[number % 2]) + self.taken()
            if said:
                found[address] = said
        return found

    def taken(self) -> list[str]:
        """The faults since the last time, once."""
        faults, self.faults = self.faults, []
        return faults


@contextmanager
def watched(browser: Browser, address: str, *others: str) -> Iterator[Watched]:
    """A page in a session of its own, which may ask the site and what belongs to it only."""
    context = browser.new_context(
        base_url=address, viewport={"width": 1280, "height": HEIGHT}, service_workers="block"
    )
    try:
        yield Watched(context.new_page(), frozenset(urlsplit(one).netloc for one in (address, *others)))
    finally:
        context.close()


def sign_in(seen: Watched, username: str, password: str) -> None:
    """Sign in through the page."""
    seen.go("/sign-in/")
    seen.page.fill("#username", username)
    seen.page.fill("#password", password)
    seen.page.click("main button[type=submit]")
    seen.settle()
    assert seen.page.url.endswith("/"), seen.page.url

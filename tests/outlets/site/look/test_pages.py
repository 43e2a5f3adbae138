"""The gallery in the real browser: no violation, no fault, nothing too small, nothing beside the page."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

CASES = [
    (path, width, theme)
    for path in ("/", "/desk/", "/lock-page/")
    for width in (1280, 800)
    for theme in ("light", "dark")
]
TOO_SMALL_TEXT = """() => [...document.querySelectorAll('body *')]
  .filter(e => !e.closest('svg') && e.localName !== 'sub' && e.getClientRects().length)
  .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
  .filter(e => parseFloat(getComputedStyle(e).fontSize) < 16).map(e => e.outerHTML.slice(0, 80))"""
TOO_SMALL_TARGETS = """() => [...document.querySelectorAll('a, button, summary, select, input, textarea')]
  .filter(e => e.getClientRects().length && !e.matches('.skip') && !(getComputedStyle(e).display === 'inline'))
  .map(e => e.matches('[type=radio], [type=checkbox]') ? e.closest('label') : e)
  .filter(e => e.getBoundingClientRect().height < 44).map(e => e.outerHTML.slice(0, 80))"""
OVERLAPPING_WORDS = """() => [...document.querySelectorAll('svg[role=img]')]
  .filter(s => s.getClientRects().length).flatMap(svg => {
  const box = svg.viewBox.baseVal;
  const words = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBBox()]);
  const out = words.filter(([, b]) => b.x < -1 || b.x + b.width > box.width + 1).map(([t]) => 'outside: ' + t);
  words.forEach(([t, a], i) => words.slice(i + 1).forEach(([u, b]) => {
    const across = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
    const down = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
    if (across > 0.5 && down > 3) out.push(t + ' / ' + u);
  }));
  return out;
})"""


def opened(browser: Browser, url: str, width: int = 1280, theme: str = "light") -> tuple[Page, list[str]]:
    """A page, and what its browser complained about."""
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=theme)  # type: ignore[arg-type]
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda m: faults.append(m.text) if m.type in ("error", "warning") else None)
    page.goto(url)
    page.wait_for_selector("html[data-ready]")
    return page, faults


@pytest.mark.parametrize(("path", "width", "theme"), CASES)
def test_no_violation_and_nothing_too_small(chromium: Browser, address: str, path: str, width: int, theme: str) -> None:
    page, faults = opened(chromium, address + path, width, theme)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate(TOO_SMALL_TEXT) == []
    assert page.evaluate(TOO_SMALL_TARGETS) == []
    assert page.evaluate(OVERLAPPING_WORDS) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert faults == []
    page.close()


def test_the_evidence_stands_beside_the_task_where_there_is_room(chromium: Browser, address: str) -> None:
    for width, beside in ((1280, True), (1024, True), (800, False)):
        page, _ = opened(chromium, address + "/", width)
        task, evidence = (page.locator(name).bounding_box() for name in (".task", ".evidence"))
        assert task is not None
        assert evidence is not None
        assert (evidence["x"] >= task["x"] + task["width"]) is beside
        page.close()


def test_words_on_the_line_are_16_px_and_more_at_both_widths(chromium: Browser, address: str) -> None:
    for width in (1280, 800):
        page, _ = opened(chromium, address + "/", width)
        heights = page.evaluate(
            "() => [...document.querySelectorAll('svg[role=img]')].filter(s => s.getClientRects().length)"
            ".map(s => 10 * s.getBoundingClientRect().width / s.viewBox.baseVal.width)"
        )
        assert len(heights) == 3
        assert all(15.9 <= height <= 20 for height in heights)
        page.close()


def test_the_number_being_worked_on_is_large_and_not_giant(chromium: Browser, address: str) -> None:
    page, _ = opened(chromium, address + "/")
    size = page.evaluate("parseFloat(getComputedStyle(document.getElementById('a_w')).fontSize)")
    # at 96 px an inch a capital of Arial (0.716 of its size) then stands 13 minutes of arc high at 1.5 m or more
    assert size * 0.716 * 25.4 / 96 / 1500 * 3437.75 >= 13
    assert size <= 48
    page.close()


def test_the_drawing_follows_the_theme(chromium: Browser, address: str) -> None:
    page, _ = opened(chromium, address + "/", theme="dark")
    ink = page.evaluate("getComputedStyle(document.querySelector('.drawing svg.across text')).fill")
    assert ink == page.evaluate("getComputedStyle(document.body).color")
    page.close()

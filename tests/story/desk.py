"""A person at a desk: a browser of one's own, and the clicks counted."""

from __future__ import annotations

import re
from typing import Any

from playwright.sync_api import APIResponse, Browser, Locator, Page, expect
from tests.served import Plant
from tests.story.keyboard import PATIENCE_MS

expect.set_options(timeout=PATIENCE_MS)


class Desk:
    """One person's browser."""

    def __init__(self, chromium: Browser, address: str) -> None:
        self.address = address.rstrip("/")
        self.context = chromium.new_context(timezone_id="Europe/London")
        self.context.set_default_timeout(PATIENCE_MS)
        self.page: Page = self.context.new_page()
        self.clicks = 0

    def sign_in(self, plant: Plant, username: str) -> Desk:
        """From the address of the site to Today."""
        self.page.goto(self.address)
        return self.give(username, plant.password)

    def give(self, username: str, password: str) -> Desk:
        """User name and password on the page for them."""
        self.page.get_by_label("User name").fill(username)
        self.page.get_by_label("Password").fill(password)
        self.page.get_by_role("button", name="Sign in").click()
        expect(self.page).to_have_title(re.compile("^Today"))
        return self

    def open(self, path: str) -> Desk:
        """An address that is known, from a print-out say."""
        self.page.goto(self.address + path)
        return self

    def click(self, words: str, *, within: Locator | None = None, exact: bool = False) -> Desk:
        """A link or a button by its words, counted; the page after it is there when this returns."""
        with self.page.expect_navigation():
            self.press(words, within=within, exact=exact)
        return self

    def press(self, words: str, *, within: Locator | None = None, exact: bool = False) -> Desk:
        """The same where the page stays."""
        place = within or self.page
        link, button = (place.get_by_role(role, name=words, exact=exact) for role in ("link", "button"))
        link.or_(button).first.click()
        self.clicks += 1
        return self

    def fill(self, **typed: str) -> Desk:
        """Fields by their names."""
        for name, text in typed.items():
            self.page.locator(f"[name={name}]:visible").first.fill(text)
        return self

    @property
    def answer(self) -> Locator:
        """The page's own answer."""
        return self.page.get_by_role("heading", level=1)

    def post(self, path: str, fields: dict[str, Any]) -> APIResponse:
        """A request made by hand, with this person's session and token."""
        token = self.page.locator("[name=csrfmiddlewaretoken]").first.get_attribute("value")
        form = {"csrfmiddlewaretoken": token, **fields}
        return self.context.request.post(self.address + path, form=form, headers={"Referer": self.address})

    def leave(self) -> None:
        """Close the browser."""
        self.context.close()

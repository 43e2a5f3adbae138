"""Text that would be a script if anything let it, and what a page makes of it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

LONG, SHORT = "<script>alert({})</script>&\"'", "<b>{}</b>&\"'"
WHOLE = re.compile(r"<(?:script>alert\(|b>)(\d+)(?:\)</script>|</b>)?&\"'")  # a file's name cannot hold the slash
BEGUN = re.compile(r"<script>alert\(|<b>\d")
ROOM = 40


class Marks:
    """Numbered hostile texts: what stands on a page tells which field it came from."""

    def __init__(self) -> None:
        self.typed: dict[int, str] = {}

    def words(self, plain: str, most: int) -> str:
        """The next one, as long as the field holds."""
        number = len(self.typed) + 1
        self.typed[number] = plain
        return (LONG if most >= ROOM else SHORT).format(number)


@dataclass
class Form:
    """A form of a page: where it is sent, and its fields with what they start with."""

    action: str
    fields: dict[str, str] = field(default_factory=dict)
    free: set[str] = field(default_factory=set)


class PageRead(HTMLParser):
    """A page as a browser reads it: faults, hostile texts that are only text, and forms."""

    def __init__(self, html: str, address: str = "") -> None:
        super().__init__(convert_charrefs=True)
        self.faults: list[str] = []
        self.harmless: set[int] = set()
        self.forms: list[Form] = []
        self._address, self._in, self._form = address, "", None
        if BEGUN.search(html):
            self.faults.append(f"not escaped: {html[BEGUN.search(html).start() :][:80]}")  # type: ignore[union-attr]
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Attributes hold text, never a script or a style."""
        given = {name: value or "" for name, value in attrs}
        self._in = tag
        for name, value in given.items():
            if name.startswith("on") or name == "style" or value.strip().lower().startswith("javascript:"):
                self.faults.append(f"<{tag} {name}={value[:60]!r}>")
            self._read(value)
        if tag == "script" and not given.get("src", "").startswith("/static/"):
            self.faults.append(f"a script that is not a file of the site: {given}")
        self._field(tag, given)

    def handle_endtag(self, tag: str) -> None:
        """The end of a form, or of a script."""
        self._in = ""
        if tag == "form":
            self._form = None

    def handle_data(self, data: str) -> None:
        """Text between the tags."""
        if self._in in ("script", "style") and data.strip():
            self.faults.append(f"text in <{self._in}>: {data[:60]}")
        self._read(data)

    def _read(self, text: str) -> None:
        whole = WHOLE.findall(text)
        self.harmless |= {int(number) for number in whole}

    def _field(self, tag: str, given: dict[str, str]) -> None:
        if tag == "form" and given.get("method") == "post":
            self._form = Form(given.get("action") or self._address)
            self.forms.append(self._form)
        name = given.get("name", "")
        if self._form is None or not name or name == "csrfmiddlewaretoken":
            return
        kind = given.get("type", "text") if tag == "input" else tag
        if kind in ("radio", "checkbox") and "checked" not in given:
            return
        self._form.fields.setdefault(name, given.get("value", ""))
        if kind in ("text", "textarea", "search", "date", "datetime-local", "number"):
            self._form.free.add(name)

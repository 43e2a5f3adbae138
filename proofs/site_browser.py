"""A small browser without a screen: cookies, redirects, and forms filled in as the pages offer them."""

from __future__ import annotations

import http.client
import threading
from dataclasses import dataclass, field
from html.parser import HTMLParser
from http.cookies import SimpleCookie
from urllib.parse import urlencode, urljoin, urlsplit

TIMEOUT_S = 30.0
REDIRECTS = frozenset({301, 302, 303, 307, 308})


@dataclass
class Form:
    """A form with what it holds before anybody types."""

    action: str
    method: str
    fields: dict[str, list[str]] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)


@dataclass
class Page:
    """What came back, after redirects."""

    status: int
    path: str
    text: str
    forms: list[Form] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    redirected: bool = False

    def form_with(self, *names: str) -> Form:
        """The first form that has all these fields.

        Raises: LookupError where the page has none.
        """
        for form in self.forms:
            if set(names) <= form.names:
                return form
        raise LookupError(f"{self.path} ({self.status}) has no form with {', '.join(names)}")


class NoAnswerError(Exception):
    """No answer came: the process that should have given it was not there, or went away."""


class _Reader(HTMLParser):
    def __init__(self, page: Page) -> None:
        super().__init__()
        self._page = page
        self._form: Form | None = None
        self._select = ""
        self._text: tuple[str, list[str]] | None = None

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attributes}
        if tag == "a" and "href" in given:
            self._page.links.append(given["href"])
        elif tag == "form":
            action = given.get("action") or given.get("hx-post") or self._page.path
            self._form = Form(urljoin(self._page.path, action), given.get("method", "get").lower())
            self._page.forms.append(self._form)
        elif self._form is not None:
            self._field(tag, given)

    def _field(self, tag: str, given: dict[str, str]) -> None:
        assert self._form is not None
        name = given.get("name", "")
        if name:
            self._form.names.add(name)
        if tag == "input" and name and given.get("type") not in ("submit", "button", "file"):
            if given.get("type") not in ("checkbox", "radio") or "checked" in given:
                self._form.fields.setdefault(name, []).append(given.get("value", ""))
        elif tag == "select":
            self._select = name
        elif tag == "option" and self._select and ("selected" in given or self._select not in self._form.fields):
            self._form.fields[self._select] = [given.get("value", "")]
        elif tag == "textarea":
            self._text = (name, [])

    def handle_data(self, data: str) -> None:
        if self._text is not None:
            self._text[1].append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = ""
        elif tag == "textarea" and self._text is not None and self._form is not None:
            self._form.fields[self._text[0]] = ["".join(self._text[1]).strip()]
            self._text = None


class Browser:
    """One person's browser on one site."""

    def __init__(self, address: str, timeout_s: float = TIMEOUT_S) -> None:
        self._place = urlsplit(address).netloc
        self._timeout_s = timeout_s
        self.cookies: dict[str, str] = {}
        self.sending = threading.Event()  # set while a form is on its way
        self._connection: http.client.HTTPConnection | None = None

    def get(self, path: str) -> Page:
        """A page, redirects followed."""
        return self._followed("GET", path, None)

    def send(self, form: Form, **typed: str) -> Page:
        """A form with what is typed into it, redirects followed."""
        pairs = [(name, value) for name, values in form.fields.items() if name not in typed for value in values]
        body = urlencode([*pairs, *typed.items()])
        self.sending.set()
        try:
            return self._followed("POST", form.action, body)
        finally:
            self.sending.clear()

    def sign_in(self, username: str, password: str) -> Page:
        """Sign in through the page."""
        return self.send(self.get("/sign-in/").form_with("username", "password"), username=username, password=password)

    def close(self) -> None:
        """Hang up; the cookies stay."""
        if self._connection is not None:
            self._connection.close()
        self._connection = None

    def _followed(self, method: str, path: str, body: str | None) -> Page:
        redirected = False
        for _ in range(6):
            status, location, text, kind = self._asked(method, path, body)
            if status not in REDIRECTS:
                break
            method, path, body, redirected = "GET", urljoin(path, location), None, True
            path = urlsplit(path).path + (f"?{urlsplit(path).query}" if urlsplit(path).query else "")
        page = Page(status, path, text, redirected=redirected)
        if "html" in kind:
            _Reader(page).feed(text)
        return page

    def _asked(self, method: str, path: str, body: str | None) -> tuple[int, str, str, str]:
        kept = self._connection is not None
        try:
            return self._answer(method, path, body)
        except (OSError, http.client.HTTPException) as error:
            self.close()
            if not kept or method != "GET":
                raise NoAnswerError(f"{method} {path}: {type(error).__name__}") from error
        # the server may hang up on a connection kept too long: a browser asks for a page once more
        return self._asked(method, path, body)

    def _answer(self, method: str, path: str, body: str | None) -> tuple[int, str, str, str]:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        if self._connection is None:
            self._connection = http.client.HTTPConnection(self._place, timeout=self._timeout_s)
        self._connection.request(method, path, body, headers)
        answer = self._connection.getresponse()
        text = answer.read().decode("utf-8", "replace")
        for header in answer.headers.get_all("Set-Cookie") or []:
            for name, morsel in SimpleCookie(header).items():
                self.cookies[name] = morsel.value
        return answer.status, answer.headers.get("Location", ""), text, answer.headers.get("Content-Type", "")

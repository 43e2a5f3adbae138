"""One request to the site: entries out, what the site holds back."""

from __future__ import annotations

import http.client
import json
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from isohume.foundation.quantity.errors import InputError

TIMEOUT_S = 30.0
PATH = "/api/v1/captured"
LARGEST_ANSWER = 65536
HERE = ("localhost", "127.0.0.1", "::1")


@dataclass(frozen=True, slots=True)
class Answer:
    """The site's answer; `status` 0 where there was none, and then `words` say why."""

    status: int
    content: dict[str, Any] = field(default_factory=dict)
    words: str = ""

    @property
    def last(self) -> int | None:
        """The number up to which the site holds the spool."""
        value = self.content.get("last")
        return value if isinstance(value, int) and not isinstance(value, bool) and value >= 0 else None

    @property
    def chain(self) -> str:
        """The digest over the entries that the site holds; '' where it has none."""
        value = self.content.get("chain")
        return value if isinstance(value, str) else ""

    @property
    def another_spool(self) -> bool:
        """Whether the site says that it holds other entries under this spool's name."""
        return self.status == 409 and self.content.get("another_spool") is True


class Wire:
    """A connection that is kept as long as it holds. Redirections are not followed: a token goes to one place."""

    def __init__(self, site: str, timeout: float = TIMEOUT_S) -> None:
        self.site, self._timeout = site_address(site), timeout
        self._connection: http.client.HTTPConnection | None = None

    @property
    def in_the_clear(self) -> bool:
        """Whether the token crosses a network unencrypted."""
        parts = urlsplit(self.site)
        return parts.scheme == "http" and parts.hostname not in HERE

    def post(self, token: str, body: dict[str, Any], key: str) -> Answer:
        """Send entries. A kept connection that the site has closed meanwhile is made anew: entries are taken once."""
        text = json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "backslashreplace")
        headers = {"Content-Type": "application/json", "Idempotency-Key": key}
        kept = self._connection is not None
        answer = self._ask(token, text, headers)
        return self._ask(token, text, headers) if kept and answer.status == 0 else answer

    def close(self) -> None:
        """Let go of the connection."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def _ask(self, token: str, body: bytes, headers: dict[str, str]) -> Answer:
        parts = urlsplit(self.site)
        try:
            connection = self._connected()
            sent = {**headers, "Authorization": f"Bearer {token}", "Accept": "application/json"}
            connection.request("POST", f"{parts.path.rstrip('/')}{PATH}", body, sent)
            response = connection.getresponse()
            text = response.read(LARGEST_ANSWER + 1)
            if len(text) > LARGEST_ANSWER:
                self.close()
            return Answer(response.status, _json(text), response.reason or "")
        except (OSError, http.client.HTTPException, ValueError) as error:
            self.close()
            return Answer(0, words=f"no answer from {self.site}: {str(error) or type(error).__name__}")

    def _connected(self) -> http.client.HTTPConnection:
        if self._connection is None:
            parts = urlsplit(self.site)
            kind = http.client.HTTPSConnection if parts.scheme == "https" else http.client.HTTPConnection
            self._connection = kind(parts.netloc, timeout=self._timeout)
        return self._connection


def site_address(text: str) -> str:
    """The site's address as typed.

    Raises: InputError.
    """
    allowed = "the site's address, such as https://bench.example or http://127.0.0.1:8765"
    try:
        parts = urlsplit(text.strip())
        known = parts.scheme in ("http", "https") and bool(parts.hostname) and (parts.port is None or parts.port > 0)
    except ValueError:
        raise InputError("site", text, allowed) from None
    if not known or parts.query or parts.fragment or parts.username is not None or not text.isprintable():
        raise InputError("site", text, allowed)
    return f"{parts.scheme}://{parts.netloc}{parts.path.rstrip('/')}"


def _json(text: bytes) -> dict[str, Any]:
    try:
        content = json.loads(text)
    except ValueError:
        return {}
    return content if isinstance(content, dict) else {}

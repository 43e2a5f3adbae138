"""One numbered line of the spool, as it goes to the site."""

from __future__ import annotations

import json
from dataclasses import dataclass, field

KINDS = ("start", "reading", "end", "state", "unread")
LONGEST_REASON = 60  # what the site takes; the spool keeps the whole


@dataclass(frozen=True, slots=True)
class Entry:
    """What an instrument did: a run begun, a reading, a run ended, a state said, or a line that was not understood."""

    kind: str
    instrument: str
    run: str
    at: str
    values: dict[str, str] = field(default_factory=dict)
    reason: str = ""
    line: str = ""

    def body(self) -> str:
        """The entry without its number, as JSON; what was not given is left out."""
        content = {"kind": self.kind, "instrument": self.instrument, "run": self.run, "at": self.at, **self.values}
        if self.reason:
            content["reason"] = self.reason
        if self.line:
            content["line"] = self.line
        return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


def wire(n: int, body: str) -> dict[str, object]:
    """A spooled entry with its number, as the site takes it."""
    content = {"n": n, **json.loads(body)}
    reason = content.get("reason", "")
    if len(reason) > LONGEST_REASON:
        content["reason"] = f"{reason[: LONGEST_REASON - 3]}..."
    return content

"""One numbered line of the spool, as it goes to the site."""

from __future__ import annotations

import json
from dataclasses import dataclass, field

from isohume.outlets.capture.clock import Moment

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
    steady: str = ""  # seconds on the clock that nobody sets, since the computer's start that `boot` names
    boot: str = ""
    dated: str = ""  # of a start: how its moment was found, where nobody listened when it was

    def body(self) -> str:
        """The entry without its number, as JSON; what was not given is left out."""
        content = {"kind": self.kind, "instrument": self.instrument, "run": self.run, "at": self.at, **self.values}
        more = {"reason": self.reason, "line": self.line, "steady": self.steady, "boot": self.boot, "dated": self.dated}
        content.update((name, text) for name, text in more.items() if text)
        return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


def entry_at(
    kind: str,
    instrument: str,
    run: str,
    now: Moment,
    values: dict[str, str] | None = None,
    reason: str = "",
    line: str = "",
    dated: str = "",
) -> Entry:
    """An entry of a moment, with what both clocks said."""
    return Entry(kind, instrument, run, now.at, values or {}, reason, line, now.steady_text, now.boot_name, dated)


def wire(n: int, body: str) -> dict[str, object]:
    """A spooled entry with its number, as the site takes it."""
    content = {"n": n, **json.loads(body)}
    reason = content.get("reason", "")
    if len(reason) > LONGEST_REASON:
        content["reason"] = f"{reason[: LONGEST_REASON - 3]}..."
    return content

"""How an agent stands, in words: heard or silent, what waits there, whose clock is off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.outlets.site.captures.clock import AGREE
from isohume.outlets.site.captures.models import Agent
from isohume.outlets.site.config.words import moment

SILENT = timedelta(minutes=5)
"""An agent at work is heard every second; one that only waits says so every minute (no source)."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A word with its mark, and what else is to be said."""

    word: str
    shape: str
    words: tuple[str, ...]


def seen(agent: Agent, now: datetime) -> Seen:
    """How an agent stands at a moment."""
    said = tuple(filter(None, (_backlog(agent), _clock(agent))))
    if agent.revoked_at is not None:
        return Seen("revoked", "void", (f"Its token was revoked on {moment(agent.revoked_at)}.", *said))
    if agent.last_seen_at is None:
        return Seen("never heard", "wait", ("Give its token to the bench computer and start it.",))
    ago = now - agent.last_seen_at
    if ago > SILENT:
        return Seen("silent", "due", (f"Heard last on {moment(agent.last_seen_at)}, {_ago(ago)} ago.", *said))
    return Seen("heard", "pass", said)


def _backlog(agent: Agent) -> str:
    if not agent.backlog:
        return ""
    lines = "1 line waits" if agent.backlog == 1 else f"{agent.backlog} lines wait"
    return f"{lines} at the bench computer to be sent; nothing of them is lost."


def _clock(agent: Agent) -> str:
    off = agent.clock_offset_s
    if off is None or abs(off) <= AGREE.total_seconds():
        return ""
    return (
        f"Its clock is {_ago(timedelta(seconds=abs(off)))} {'ahead of' if off > 0 else 'behind'} the server's: moments "
        "are told by the server's clock. Set it right."
    )


def _ago(time: timedelta) -> str:
    seconds = time.total_seconds()
    for unit, name in ((86400, "days"), (3600, "h"), (60, "min")):
        if seconds >= 2 * unit:
            return f"{seconds / unit:.0f} {name}"
    return f"{seconds:.0f} s"

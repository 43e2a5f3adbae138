"""What a reader of runs must not forget between two processes, as JSON keeps it."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

from isohume.outlets.capture.clock import Moment
from isohume.outlets.capture.line import LineRead


@dataclass(frozen=True, slots=True)
class Said:
    """A line with the moment it was heard, or was said where it was found in a file later."""

    read: LineRead
    now: Moment
    late: bool = False

    def kept(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return {"read": self.read.kept(), "now": asdict(self.now), "late": self.late}

    @classmethod
    def of(cls, kept: dict[str, Any]) -> Said:
        """From what was kept."""
        return cls(LineRead(**kept["read"]), Moment(**kept["now"]), kept.get("late", False))


@dataclass(slots=True)
class OpenRun:
    """The run that goes on."""

    key: str
    number: str
    begun: Moment
    start_line: str
    readings: int = 0
    last_elapsed: str = ""
    by_wall: bool = False
    last_late: Moment | None = None  # of the last reading, where it was found in a file later


@dataclass(slots=True)
class Repeat:
    """A run that is being said again, held back until it is known whether it is the same one."""

    key: str
    number: str
    ended: str
    known: dict[str, str]
    held: list[Said] = field(default_factory=list)


@dataclass(slots=True)
class ReaderState:
    """All of it."""

    open: OpenRun | None = None
    repeat: Repeat | None = None
    waiting: Said | None = None
    fresh: bool = False
    number: str = ""
    last_end: str = ""
    dropped: int = 0

    def kept(self) -> dict[str, Any]:
        """As JSON keeps it."""
        repeat, waiting = self.repeat, self.waiting
        return {
            "open": None if self.open is None else asdict(self.open),
            "repeat": None if repeat is None else _plain(repeat),
            "waiting": None if waiting is None else waiting.kept(),
            "fresh": self.fresh,
            "number": self.number,
            "last_end": self.last_end,
            "dropped": self.dropped,
        }

    @classmethod
    def of(cls, kept: dict[str, Any] | None) -> ReaderState:
        """From what was kept; the empty state where nothing was."""
        if kept is None:
            return cls()
        opened, repeat, waiting = kept["open"], kept["repeat"], kept["waiting"]
        return cls(
            None if opened is None else _open(opened),
            None if repeat is None else Repeat(**{**repeat, "held": [Said.of(one) for one in repeat["held"]]}),
            None if waiting is None else Said.of(waiting),
            kept["fresh"],
            kept["number"],
            kept["last_end"],
            kept["dropped"],
        )


def _open(kept: dict[str, Any]) -> OpenRun:
    late = kept.get("last_late")
    moments = {"begun": Moment(**kept["begun"]), "last_late": None if late is None else Moment(**late)}
    return OpenRun(**{**kept, **moments})


def _plain(repeat: Repeat) -> dict[str, Any]:
    """What it is held against is in the spool."""
    held = [one.kept() for one in repeat.held]
    return {"key": repeat.key, "number": repeat.number, "ended": repeat.ended, "known": {}, "held": held}

"""`--try`: what each line is read as, or why not. Nothing is kept and nothing is sent."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from isohume.outlets.capture.clock import Clock, Moment
from isohume.outlets.capture.entry import Entry
from isohume.outlets.capture.known import Remembered
from isohume.outlets.capture.line import LineRead, read_line
from isohume.outlets.capture.rule import InstrumentRule
from isohume.outlets.capture.run_reader import RunReader


@dataclass(frozen=True, slots=True)
class Tried:
    """One line and what became of it."""

    instrument: str
    line: str
    kind: str  # an entry's kind, or "ignored" or "said before"
    words: str
    values: dict[str, str]

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return {
            "instrument": self.instrument,
            "line": self.line,
            "read_as": self.kind,
            "values": self.values,
            "reason": self.words,
        }


class Trial:
    """One instrument's lines, tried in their order."""

    def __init__(self, rule: InstrumentRule, now: Moment) -> None:
        self.rule = rule
        self._reader = RunReader(rule, Remembered(), now)

    def line(self, raw: bytes | str, now: Moment, *, new_file: bool = False, doubtful: str = "") -> list[Tried]:
        """What one line makes."""
        read = read_line(raw, self.rule)
        if doubtful:
            read = LineRead(read.text, reason=doubtful)
        if read.ignored:
            return [self._tried(read.text, "ignored", "", {})]
        entries = self._reader.line(read, now, new_file=new_file)
        if not entries:
            held = self._reader.state.waiting is not None or self._reader.state.repeat is not None
            kind = "held back" if held else "said before"
            return [self._tried(read.text, kind, "", read.values())]
        return [self._of(entry, read.text) for entry in entries]

    def _of(self, entry: Entry, text: str) -> Tried:
        return self._tried(entry.line or text, entry.kind, entry.reason, entry.values)

    def _tried(self, line: str, kind: str, words: str, values: dict[str, str]) -> Tried:
        return Tried(self.rule.name, line, kind, words, values)


def try_all(rule: InstrumentRule, lines: Iterable[bytes], clock: Clock) -> Iterator[Tried]:
    """Every line of a file, as if the instrument had just said it."""
    trial = Trial(rule, clock.now())
    for raw in lines:
        yield from trial.line(raw, clock.now())

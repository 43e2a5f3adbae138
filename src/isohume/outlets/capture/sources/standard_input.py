"""Standard input: another program's lines, until it ends."""

from __future__ import annotations

import os
from typing import BinaryIO

from isohume.outlets.capture.clock import Clock
from isohume.outlets.capture.rule import InstrumentRule
from isohume.outlets.capture.sources.framing import Lines
from isohume.outlets.capture.sources.heard import CONNECTED, ENDED, LINES, Heard, Inbox


class StandardInputLines:
    """The lines of a stream."""

    def __init__(self, rule: InstrumentRule, inbox: Inbox, clock: Clock, stream: BinaryIO) -> None:
        self._name, self._inbox, self._clock, self._stream = rule.name, inbox, clock, stream

    def run(self) -> None:
        """Until it ends: its last line counts also without a line end."""
        lines = Lines()
        self._put(CONNECTED)
        while data := self._some():
            if whole := lines.feed(data):
                self._put(LINES, tuple(whole))
        if rest := lines.cut():
            self._put(LINES, (rest,))
        self._put(ENDED)

    def _some(self) -> bytes:
        """Past the stream's own buffer: a thread that waits in it could not be left when the agent stops."""
        try:
            place = self._stream.fileno()
        except OSError:  # a stream of a test
            return self._stream.read(65536)
        return os.read(place, 65536)

    def _put(self, kind: str, lines: tuple[bytes, ...] = ()) -> None:
        words = {CONNECTED: "reading standard input", ENDED: "standard input has ended"}.get(kind, "")
        self._inbox.put(Heard(self._name, kind, self._clock.now(), lines, words=words))

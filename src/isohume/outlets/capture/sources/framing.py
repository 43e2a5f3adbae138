"""Bytes to lines, whatever ends them: CR, LF or both."""

from __future__ import annotations

import re

from isohume.outlets.capture.pattern import LONGEST_LINE

ENDS = re.compile(rb"[\r\n]+")
MOST_HELD = 4 * LONGEST_LINE  # a line without an end is handed on in pieces: noise must not fill the memory


class Lines:
    """Holds the beginning of a line until its end comes."""

    def __init__(self) -> None:
        self._held = b""

    def feed(self, data: bytes) -> list[bytes]:
        """The lines that are whole now; empty ones are left out."""
        *whole, rest = ENDS.split(self._held + data)
        while len(rest) > MOST_HELD:
            whole.append(rest[:MOST_HELD])
            rest = rest[MOST_HELD:]
        self._held = rest
        return [line for line in whole if line]

    def cut(self) -> bytes:
        """What was held of a line whose end will not come."""
        held, self._held = self._held, b""
        return held

"""What a process says goes into a file of its own that turns over; what looks like a secret is left out."""

from __future__ import annotations

import logging
import re
import threading
import time
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import IO

LARGEST_FILE = 2_000_000
KEPT_FILES = 5
LONGEST_LINE = 4000
HIDDEN = "[left out]"
# A token mixes capitals, small letters and digits over a length that no word or name has; a digest has no capitals.
TOKEN = re.compile(
    r"(?<![A-Za-z0-9_-])(?=[A-Za-z0-9_-]*[a-z])(?=[A-Za-z0-9_-]*[A-Z])(?=[A-Za-z0-9_-]*\d)[A-Za-z0-9_-]{20,}"
)
LINK = re.compile(r"(/set-up/)[^/\s'\"?]+")
NAMED = re.compile(r"(?i)\b(sessionid|csrftoken|csrfmiddlewaretoken|password|secret_key)(['\"]?\s*[=:]\s*)\S+")

FAULT = re.compile(r"[A-Za-z_][\w.]*(Error|Exception|Configured|Exit)\b")  # the last line of a traceback


def without_secrets(line: str) -> str:
    """The line with tokens, passwords and cookies left out."""
    return TOKEN.sub(HIDDEN, LINK.sub(rf"\1{HIDDEN}", NAMED.sub(rf"\1\2{HIDDEN}", line)))


class LogFile:
    """One process's log; the supervisor alone writes it, so that it can turn over safely."""

    def __init__(self, folder: Path, name: str) -> None:
        self.path = folder / f"{name}.log"
        self._last_line = self._last_fault = ""
        self._handler = _Quiet(
            self.path, maxBytes=LARGEST_FILE, backupCount=KEPT_FILES, encoding="utf-8", errors="backslashreplace"
        )
        form = logging.Formatter("%(asctime)s %(message)s", "%Y-%m-%dT%H:%M:%SZ")
        form.converter = time.gmtime
        self._handler.setFormatter(form)

    @property
    def last_words(self) -> str:
        """What a process said last about why it ended: its last fault, else its last line."""
        return self._last_fault or self._last_line

    def say(self, line: str) -> None:
        """One line."""
        self._handler.handle(logging.LogRecord("isohume", logging.INFO, "", 0, _shown(line), None, None))

    def follow(self, output: IO[bytes]) -> threading.Thread:
        """Write what comes out of a process, line by line, until it ends."""
        reader = threading.Thread(target=self._copied, args=(output,), name=self.path.stem, daemon=True)
        reader.start()
        return reader

    def _copied(self, output: IO[bytes]) -> None:
        with output:
            for line in output:
                text = line.decode("utf-8", "backslashreplace")
                self._note(_shown(text))
                self.say(text)

    def _note(self, line: str) -> None:
        self._last_line = line or self._last_line
        if FAULT.match(line):
            self._last_fault = line

    def close(self) -> None:
        """Close the file."""
        self._handler.close()


class _Quiet(RotatingFileHandler):
    def handleError(self, record: logging.LogRecord) -> None:  # noqa: N802 - logging's name
        """A line that cannot be written, on a full disk say, is lost; the site goes on."""


def _shown(line: str) -> str:
    return without_secrets(line.rstrip())[:LONGEST_LINE]

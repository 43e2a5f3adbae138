"""One supervised process: started, watched, started again after it ended by itself, ended with all it started."""

from __future__ import annotations

import os
import signal
import subprocess
import threading
import time
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass

from isohume.foundation.quantity.errors import IsohumeError
from isohume.outlets.serve.log_file import LogFile

STEADY_S = 3.0
MOST_FAILURES = 6
LAST_WORDS_S = 1.0
FIRST_WAIT_S, LONGEST_WAIT_S = 0.1, 5.0


class GaveUpError(IsohumeError):
    """A process ended again and again as soon as it was started."""


@dataclass(frozen=True, slots=True)
class Program:
    """What is to be kept running."""

    name: str
    command: tuple[str, ...]
    environment: Mapping[str, str]


def wait_before_restart(failures: int) -> float:
    """Seconds before the next start: short after a single failure, longer after each further one in a row."""
    return float(min(LONGEST_WAIT_S, FIRST_WAIT_S * 2 ** (failures - 1)))


class Child:
    """A program and the process that runs it now."""

    def __init__(self, program: Program, log: LogFile) -> None:
        self.program, self.log = program, log
        self.failures = 0
        self._process: subprocess.Popen[bytes] | None = None
        self._reader: threading.Thread | None = None
        self._started = self._due = 0.0

    @property
    def pid(self) -> int | None:
        """The number of the running process; None between an end and the next start."""
        return None if self._process is None else self._process.pid

    def start(self) -> None:
        """Start the process, in a group of its own so that it can be ended with all it starts."""
        # started from the main thread only: Linux gives notice of the death of the thread that started a process
        self._process = subprocess.Popen(
            self.program.command,
            env=dict(self.program.environment),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            process_group=0,
        )
        self._started = time.monotonic()
        assert self._process.stdout is not None
        self.log.say(f"started as process {self._process.pid}")
        self._reader = self.log.follow(self._process.stdout)

    def tend(self) -> None:
        """Look after it: note an end, start it again after its wait; GaveUpError after many ends in a row."""
        now = time.monotonic()
        if self._process is None:
            if now >= self._due:
                self.start()
            return
        status = self._process.poll()
        if status is None:
            return
        self._end_group()
        self.failures = 1 if now - self._started >= STEADY_S else self.failures + 1
        self._process = None
        if self.failures > MOST_FAILURES:
            raise GaveUpError(
                f"the {self.program.name} process ended {self.failures} times in a row as soon as it was started "
                f"(last said: {self.log.last_words or 'nothing'}); see {self.log.path}"
            )
        self._due = now + wait_before_restart(self.failures)
        self.log.say(f"ended by itself ({_how(status)}); starts again")

    def ask_to_stop(self) -> None:
        """SIGTERM, and the end of its standard input."""
        if self._process is None:
            return
        with suppress(ProcessLookupError):
            self._process.terminate()
        assert self._process.stdin is not None
        with suppress(OSError):
            self._process.stdin.close()

    def end(self, until: float) -> None:
        """Wait for its end until a moment, then kill it and all it started."""
        if self._process is None:
            return
        try:
            self._process.wait(max(0.0, until - time.monotonic()))
        except subprocess.TimeoutExpired:
            self.log.say("did not stop when asked; killed")
        self._end_group()
        self._process.wait()
        self._process = None

    def _end_group(self) -> None:
        assert self._process is not None
        with suppress(ProcessLookupError, PermissionError):
            os.killpg(self._process.pid, signal.SIGKILL)
        if self._process.stdin is not None:
            with suppress(OSError):
                self._process.stdin.close()
        if self._reader is not None:
            self._reader.join(LAST_WORDS_S)


def _how(status: int) -> str:
    if status >= 0:
        return f"exit status {status}"
    with suppress(ValueError):
        return f"signal {signal.Signals(-status).name}"
    return f"signal {-status}"

"""The supervisor: keeps several programs running until it is asked to stop, and leaves none behind."""

from __future__ import annotations

import signal
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

from isohume.outlets.serve.child import Child, Program
from isohume.outlets.serve.log_file import LogFile

LOOK_EVERY_S = 0.1
STOP_WITHIN_S = 10.0
STOP_SIGNALS = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)


class Supervisor:
    """Use it as a context manager: whatever happens inside, all processes are ended at its end."""

    def __init__(self, programs: Sequence[Program], log_folder: Path) -> None:
        self.children = [Child(program, LogFile(log_folder, program.name)) for program in programs]

    def __enter__(self) -> Supervisor:
        try:
            for child in self.children:
                child.start()
        except BaseException:
            self.stop()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def tend(self) -> None:
        """Look after every process once."""
        for child in self.children:
            child.tend()

    def stop(self) -> None:
        """Ask all to stop together, wait, and kill what is left."""
        for child in self.children:
            child.ask_to_stop()
        until = time.monotonic() + STOP_WITHIN_S
        for child in self.children:
            child.end(until)
            child.log.close()


class Asked:
    """Whether this process was asked to stop."""

    def __init__(self) -> None:
        self.stop = False

    def note(self, _number: int, _frame: FrameType | None) -> None:
        """The signal handler: it only notes, so that a change of the database in progress is finished."""
        self.stop = True


@contextmanager
def stop_when_asked() -> Iterator[Asked]:
    """SIGTERM, Ctrl-C and a closed terminal are noted; the former handlers come back at the end."""
    asked = Asked()
    former: dict[signal.Signals, Any] = {number: signal.signal(number, asked.note) for number in STOP_SIGNALS}
    try:
        yield asked
    finally:
        for number, handler in former.items():
            signal.signal(number, handler)

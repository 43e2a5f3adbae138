"""What a source hands over: lines that came together, or that the instrument can be heard, or no longer."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from isohume.outlets.capture.clock import Moment

MOST_WAITING = 5000
LINES, CONNECTED, LOST, ENDED = "lines", "connected", "lost", "ended"


@dataclass(frozen=True, slots=True)
class Heard:
    """One piece of news of one instrument. `marks` says how far files are read once these lines are on disk."""

    instrument: str
    kind: str
    now: Moment
    lines: tuple[bytes, ...] = ()
    doubtful: str = ""  # why these lines are no whole lines: kept, never read
    new_file: bool = False
    written_ms: int | None = None  # when the file that holds these lines was last written, by the wall's clock
    marks: tuple[tuple[str, dict[str, Any] | None], ...] = ()
    words: str = ""


class Inbox:
    """The one queue; a source waits where the writer is behind, as it is while the disk is full."""

    def __init__(self) -> None:
        self._queue: queue.Queue[Heard] = queue.Queue(MOST_WAITING)
        self.stop = threading.Event()

    def put(self, heard: Heard) -> bool:
        """Hand over; False where the agent stops and nobody takes it any more."""
        while not self.stop.is_set():
            try:
                self._queue.put(heard, timeout=0.2)
            except queue.Full:
                continue
            return True
        return False

    def take(self, wait_s: float, most: int = MOST_WAITING) -> list[Heard]:
        """What there is, waiting a moment where there is nothing."""
        taken: list[Heard] = []
        with suppress(queue.Empty):
            taken.append(self._queue.get(timeout=wait_s))
            while len(taken) < most:
                taken.append(self._queue.get_nowait())
        return taken


Say = Callable[[str], None]
"""Something for the console: one line."""

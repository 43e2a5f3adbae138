"""Starts the sources of a rule, each in a thread of its own."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.clock import Clock
from isohume.outlets.capture.rule import FolderSource, InstrumentRule, Rule, SerialSource
from isohume.outlets.capture.sources.heard import LOST, Heard, Inbox, Say

AGAIN_S = 5.0
Marks = Callable[[str], dict[str, dict[str, Any]]]


def start_sources(
    rule: Rule, inbox: Inbox, clock: Clock, marks: Marks, asks_from: Callable[[str], str]
) -> list[threading.Thread]:
    """Every instrument's source begins to hand over what it hears.

    marks: how far an instrument's files were read, by its name.
    asks_from: the number from which an instrument is asked to say its runs again.
    """
    return [
        beside(_work(one, inbox, clock, marks, asks_from), one.name, inbox.stop, _told(one.name, inbox, clock))
        for one in rule.instruments
    ]


def _told(name: str, inbox: Inbox, clock: Clock) -> Say:
    """The main thread is told, and the reader that its instrument cannot be heard."""

    def tell(words: str) -> None:
        inbox.put(Heard(name, LOST, clock.now(), words=words))

    return tell


def _work(
    rule: InstrumentRule, inbox: Inbox, clock: Clock, marks: Marks, asks_from: Callable[[str], str]
) -> Callable[[], None]:
    if isinstance(rule.source, SerialSource):
        from isohume.outlets.capture.sources.serial_line import SerialLine

        return SerialLine(rule, inbox, clock, lambda: asks_from(rule.name)).run
    if isinstance(rule.source, FolderSource):
        from isohume.outlets.capture.sources.folder import WatchedFolder

        return WatchedFolder(rule, inbox, clock, marks(rule.name)).run
    from isohume.outlets.capture.sources.standard_input import StandardInputLines

    if sys.stdin is None:
        raise InputError("source.kind", "stdin", "an open standard input; it is closed")
    return StandardInputLines(rule, inbox, clock, sys.stdin.buffer).run


def beside(work: Callable[[], None], name: str, stop: threading.Event, say: Say) -> threading.Thread:
    """Work in a thread that does not keep the process from ending; after a fault it is begun again, never left dead."""

    def kept_up() -> None:
        while not stop.is_set():
            try:
                work()
                return
            except Exception as error:
                say(f"internal fault: {type(error).__name__}: {error}; beginning again")
                stop.wait(AGAIN_S)

    thread = threading.Thread(target=kept_up, name=name, daemon=True)
    thread.start()
    return thread

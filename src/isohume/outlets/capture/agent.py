"""The agent: sources in, entries to disk, deliveries out. One writer; nothing is done before it is on disk."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import ExitStack
from typing import Any

from isohume.outlets.capture.clock import Clock, Moment, step_words
from isohume.outlets.capture.delivery import Delivery
from isohume.outlets.capture.entry import Entry, entry_at
from isohume.outlets.capture.file_time import moments_of
from isohume.outlets.capture.line import LineRead, decoded, read_line, shown
from isohume.outlets.capture.rule import InstrumentRule, Rule
from isohume.outlets.capture.run_reader import LOST as LOST_FOR_GOOD
from isohume.outlets.capture.run_reader import RunReader
from isohume.outlets.capture.run_state import ReaderState
from isohume.outlets.capture.sources.heard import CONNECTED, ENDED, LINES, LOST, Heard, Inbox, Say
from isohume.outlets.capture.sources.start import beside, start_sources
from isohume.outlets.capture.spool import Spool

GATHER_S = 0.1
DISK_S = 1.0
HELD_UP_S = 10.0
BACKLOG_EVERY_S = 600.0


class Agent:
    """All instruments of a rule, one spool, at most one site."""

    def __init__(self, rule: Rule, spool: Spool, clock: Clock, say: Say) -> None:
        self._rule, self._spool, self._clock, self._say = rule, spool, clock, say
        self.inbox = Inbox()
        now, states = clock.now(), spool.readers()
        self.readers = {one.name: RunReader(one, spool, now, states.get(one.name)) for one in rule.instruments}
        self._kept = dict(states)
        self._gone: dict[str, dict[str, Any]] = {}
        self._entries: list[Entry] = []
        for name in states.keys() - self.readers.keys():
            self._entries += self._left(name, states[name])
        self._files: dict[tuple[str, str], dict[str, Any] | None] = {}
        self._words: dict[str, str] = {}
        self._disk = ""
        self._touched: set[str] = set()
        self._ended: set[str] = set()
        self._drained = threading.Event()
        self._offset, self._told, self._turned = now, now.steady, now.steady

    def _left(self, name: str, kept: dict[str, Any]) -> list[Entry]:
        """The end of a run that goes on for ever, else: its instrument is in the rule no more."""
        state, now = ReaderState.of(kept), self._clock.now()
        opened, state.open = state.open, None
        if opened is None:
            return []
        self._gone[name] = state.kept()
        return [entry_at("end", name, opened.key, now, {}, LOST_FOR_GOOD)]

    @property
    def nothing_more(self) -> bool:
        """Whether every source has ended, as standard input does."""
        return self._ended == set(self.readers)

    def run(self, delivery: Delivery | None = None) -> bool:
        """Until `inbox.stop` is set or every source has ended; False where lines could not be written."""
        with ExitStack() as ending:
            start_sources(self._rule, self.inbox, self._clock, self._spool.files, self._asks_from)
            if delivery is not None:
                stop = self.inbox.stop
                sender = beside(lambda: delivery.run(stop, self._drained.is_set), "delivery", stop, self._say)
                ending.callback(sender.join, 5.0)
            while not self.inbox.stop.is_set() and not self.nothing_more:
                self.turn(delivery)
            self._drained.set()
            if delivery is not None and self.nothing_more:
                delivery.news.set()
                while sender.is_alive() and not self.inbox.stop.is_set():
                    sender.join(0.2)
            self.inbox.stop.set()
            return self._last_words()

    def turn(self, delivery: Delivery | None = None, wait_s: float = GATHER_S) -> None:
        """What has come, to disk."""
        for heard in self.inbox.take(wait_s):
            self._take(heard)
        now = self._clock.now()
        self._notice_step(now)
        self._end_silent(now)
        written = bool(self._entries)
        while not self._write() and not self.inbox.stop.wait(DISK_S):
            pass
        if delivery is not None and written:
            delivery.news.set()
        self._tell_backlog(now)

    def _end_silent(self, now: Moment) -> None:
        """Runs without a line; where this thread itself was held up, by a full disk or a sleep, it may be its own."""
        held_up, self._turned = now.steady - self._turned > HELD_UP_S, now.steady
        for name, reader in self.readers.items():
            if held_up:
                reader.listening(now)
            elif ended := reader.quiet(now):
                self._touched.add(name)
                self._entries += ended

    def _asks_from(self, name: str) -> str:
        return self.readers[name].asks_from

    def _take(self, heard: Heard) -> None:
        reader = self.readers[heard.instrument]
        self._touched.add(heard.instrument)
        if heard.kind == LINES:
            new = heard.new_file
            reads = [_read(raw, reader.rule, heard.doubtful) for raw in heard.lines]
            for read, at in zip(reads, _moments(reads, heard), strict=True):
                self._entries += _entries(reader, read, heard.now, at, new_file=new)
                new = False
            self._files.update({(heard.instrument, path): body for path, body in heard.marks})
        elif heard.kind == CONNECTED:
            reader.connected(heard.now)
        elif heard.kind == LOST:
            reader.lost()
        elif heard.kind == ENDED:
            self._entries += reader.gone(heard.now)
            self._ended.add(heard.instrument)
        if heard.words:
            self._say(f"{heard.instrument}: {heard.words}")
            self._words[heard.instrument] = heard.words

    def _notice_step(self, now: Moment) -> None:
        words = step_words(self._offset.offset_s, now.offset_s)
        self._offset = now
        if words:
            self._say(words)
            for reader in self.readers.values():
                reader.note = words

    def _write(self) -> bool:
        """Commit what is there; False where the disk did not take it, and then it is kept and tried again."""
        states = {name: reader.state.kept() for name, reader in self.readers.items() if name in self._touched}
        changed = {name: state for name, state in states.items() if state != self._kept.get(name)} | self._gone
        if not (self._entries or self._files or changed or self._words):
            return True
        try:
            self._spool.commit(self._entries, changed, self._files, (self._clock.now().at, self._words))
        except sqlite3.OperationalError as error:
            words = f"disk: {error}; nothing is lost, trying again"
            if self._disk != words:
                self._say(words)
            self._disk = words
            return False
        if self._disk:
            self._say("disk: written again")
        self._entries, self._files, self._touched = [], {}, set()
        self._words, self._disk, self._gone = {}, "", {}
        self._kept.update(changed)
        return True

    def _last_words(self) -> bool:
        for heard in self.inbox.take(0):
            self._take(heard)
        if self._write():
            return True
        self._say(f"{len(self._entries)} entries could not be written to the disk and are lost")
        return False

    def _tell_backlog(self, now: Moment) -> None:
        if now.steady - self._told >= BACKLOG_EVERY_S:
            self._told = now.steady
            waiting = self._spool.waiting()
            if waiting:
                self._say(f"{waiting} entries wait for the site")


def _moments(reads: list[LineRead], heard: Heard) -> list[Moment]:
    """When each line was said: now, unless a file that was written before holds it."""
    return [heard.now] * len(reads) if heard.written_ms is None else moments_of(reads, heard.now, heard.written_ms)


def _entries(reader: RunReader, read: LineRead, now: Moment, at: Moment, *, new_file: bool) -> list[Entry]:
    """What a line makes; a fault of ours must not stop the lines that follow, nor lose this one."""
    try:
        return reader.line(read, now, at=at, new_file=new_file)
    except Exception as error:
        reader.forget()
        return [entry_at("unread", reader.rule.name, "", now, {}, f"internal fault: {error!r}", read.text)]


def _read(raw: bytes, rule: InstrumentRule, doubtful: str) -> LineRead:
    if not doubtful:
        return read_line(raw, rule)
    return LineRead(shown(decoded(raw, rule.line.encoding)[0]), reason=doubtful)

"""Lines to entries: where a run begins and ends, and what was said before.

An instrument that keeps its runs says them again after the cable was out. Such a run is held against what is known of
it, reading by reading: alike, it is dropped and counted; where it goes on, it goes on; where it differs, it is another
run that bears the same number, and everything held back is written down as that run.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from isohume.outlets.capture.clock import Moment, seconds_between
from isohume.outlets.capture.entry import Entry, entry_at
from isohume.outlets.capture.file_time import BY_FILE
from isohume.outlets.capture.known import Known
from isohume.outlets.capture.line import LineRead
from isohume.outlets.capture.rule import InstrumentRule, SerialSource
from isohume.outlets.capture.run_state import OpenRun, ReaderState, Repeat, Said

STATE_EVERY_S = 60.0
LOST_S = 3600.0  # so long a run waits for an instrument that can say it again
END_LINE, NEXT_START, SILENCE, LOST = "end line", "next start", "silence", "instrument lost"
CUT_SHORT = (SILENCE, LOST)
BOOTED = "this computer was started again: elapsed time goes on by its clock"


class RunReader:
    """One instrument's lines; `state` is all it must remember besides what the spool holds."""

    def __init__(self, rule: InstrumentRule, known: Known, now: Moment, state: dict[str, Any] | None = None) -> None:
        self.rule, self._known = rule, known
        self.state = ReaderState.of(state)
        self.note = ""
        self._state: tuple[dict[str, str], Moment] | None = None
        self._heard, self._lost = now, isinstance(rule.source, SerialSource)  # not heard of yet
        opened = self.state.open
        self._seen = known.readings(opened.key) if opened is not None and rule.has_clock else {}
        if self.state.repeat is not None:
            self.state.repeat.known = known.readings(self.state.repeat.key)

    @property
    def asks_from(self) -> str:
        """The number from which an instrument is asked to say its runs again; '0' where none is known."""
        return self.state.number or "0"

    def line(self, read: LineRead, now: Moment, *, at: Moment | None = None, new_file: bool = False) -> list[Entry]:
        """The entries that a line makes, mostly one. `at`: when it was said, where it was found in a file later."""
        if read.starts or read.is_reading:  # an instrument that says it is ready goes on with no run
            self._heard = now
        late = at is not None and at != now
        return self._kept(self._entries(Said(read, at if at is not None else now, late), new_file))

    def _entries(self, said: Said, new_file: bool) -> list[Entry]:
        read, now = said.read, said.now
        if new_file and self.rule.run.start is None:
            self.state.fresh = True
        if read.ignored:
            return []
        if read.reason:
            return [self._unread(read, now, read.reason)]
        made = self._started(said) if read.starts else []
        if read.is_reading:
            made += self._reading(said)
        if read.ends:
            made += self._ended(said)
        if not (read.starts or read.is_reading or read.ends):
            made += self._stated(read, now)
        return made

    def _stated(self, read: LineRead, now: Moment) -> list[Entry]:
        """A state as it was said; unchanged, once a minute is enough."""
        values = read.values()
        if self._state is not None and values == self._state[0]:
            since, steady = seconds_between(self._state[1], now)
            if steady and since < STATE_EVERY_S:
                return []
        self._state = values, now
        return [entry_at("state", self.rule.name, "", now, values, line=read.text)]

    def quiet(self, now: Moment) -> list[Entry]:
        """What no line for some time makes: the end of an open run."""
        silent = seconds_between(self._heard, now)[0]
        patience = self.rule.run.silence_s
        if self._lost and self.rule.source.repeats:
            patience = max(patience, LOST_S)
        if self.state.open is None or silent < patience:
            return []
        self._drop_repeat()
        return self._kept(self._close(now, LOST if self._lost else SILENCE))

    def listening(self, now: Moment) -> None:
        """Silence counts from now: nobody listened before."""
        self._heard = now

    def connected(self, now: Moment) -> None:
        """The instrument can be heard; silence counts from now."""
        self._heard, self._lost = now, False

    def lost(self) -> None:
        """The instrument cannot be heard: what it was saying again it will say once more."""
        self._lost = True
        self._drop_repeat()

    def gone(self, now: Moment) -> list[Entry]:
        """No line will ever come: standard input has ended."""
        self._drop_repeat()
        return self._kept(self._close(now, LOST))

    def forget(self) -> None:
        """After a fault nobody knows which run is open: the next line begins one."""
        self.state.open = self.state.repeat = self.state.waiting = None
        self._seen = {}

    def _kept(self, made: list[Entry]) -> list[Entry]:
        for entry in made:
            self._known.remember(entry)
        return made

    # Beginning

    def _started(self, said: Said) -> list[Entry]:
        self.state.fresh = False
        if said.read.number or not self.rule.number_in_readings:
            return self._opened(said)
        made = self._waiting_given_up()
        self.state.waiting = said  # the first reading will say which run this is
        return made

    def _opened(self, said: Said) -> list[Entry]:
        state, read = self.state, said.read
        if self.rule.has_clock and read.number:
            target = self._known_run(read.number)
            if target is not None:
                self._drop_repeat()
                state.repeat = target
                target.held.append(said)
                return []
        if state.open is not None and state.open.start_line == read.text != "" and not state.open.readings:
            state.dropped += 1
            return []
        return self._begin(said)

    def _known_run(self, number: str) -> Repeat | None:
        opened = self.state.open
        if opened is not None and opened.number == number:
            return Repeat(opened.key, number, "", dict(self._seen))
        found = self._known.run(self.rule.name, number)
        return None if found is None else Repeat(found.key, number, found.ended, self._known.readings(found.key))

    def _begin(self, said: Said, reason: str = "") -> list[Entry]:
        made = self._close(said.now, NEXT_START)
        self._drop_repeat()
        read, state = said.read, self.state
        key = self._known.new_key()
        state.open = OpenRun(key, read.number, said.now, read.text)
        state.number = read.number or state.number
        self._seen = {}
        values = {"number": read.number} if read.number else {}
        dated = BY_FILE if said.late else ""
        made.append(entry_at("start", self.rule.name, key, said.now, values, self._noted(reason), read.text, dated))
        return made

    # Readings

    def _reading(self, said: Said) -> list[Entry]:
        made = [] if said.read.starts and self.state.waiting is None else self._begun_by(said)
        if self.state.repeat is not None:
            again = self._again(said)
            if again is None:
                return made
            made += again
        return made + self._taken(said)

    def _begun_by(self, said: Said) -> list[Entry]:
        """The run that a reading begins by itself, where it does: another number, a new file, a clock gone back."""
        state, waiting = self.state, self.state.waiting
        if waiting is not None:
            state.waiting = None
            return self._opened(Said(replace(waiting.read, number=said.read.number), waiting.now, waiting.late))
        if (state.open is None and state.repeat is None) or self._of_another_run(said.read):
            state.fresh = False
            return self._opened(Said(LineRead("", number=said.read.number), said.now, said.late))
        return []

    def _of_another_run(self, read: LineRead) -> bool:
        state = self.state
        if state.fresh:
            return True
        number = state.repeat.number if state.repeat is not None else state.open.number if state.open else ""
        if read.number and number:
            return read.number != number
        if self.rule.run.start is not None or not read.elapsed_s or state.open is None or read.elapsed_s in self._seen:
            return False
        return bool(state.open.last_elapsed) and Decimal(read.elapsed_s) < Decimal(state.open.last_elapsed)

    def _again(self, said: Said) -> list[Entry] | None:
        """Hold a reading against the run that is being said again; None where it was said before."""
        repeat = self.state.repeat
        assert repeat is not None
        known = repeat.known.get(said.read.elapsed_s)
        if known is not None and known == said.read.a_w:
            repeat.held.append(said)
            return None
        opened = self.state.open
        if known is None and opened is not None and opened.key == repeat.key:
            self._drop_repeat()  # it goes on where it was left
            return []
        return self._as_another_run(repeat)

    def _as_another_run(self, repeat: Repeat) -> list[Entry]:
        """Everything held back was of a run of its own."""
        self.state.repeat = None
        start, *readings = repeat.held
        cut = readings and repeat.ended in CUT_SHORT
        reason = f"said again whole: {repeat.key} was ended by {repeat.ended} before its end" if cut else ""
        made = self._begin(start, reason)
        for one in readings:
            made += self._taken(one)
        return made

    def _taken(self, said: Said) -> list[Entry]:
        read, opened = said.read, self.state.open
        assert opened is not None  # a reading opens a run where none is open
        if read.elapsed_s:
            before = self._seen.get(read.elapsed_s)
            if before is not None and before == read.a_w:
                self.state.dropped += 1
                return []
            if before is not None:
                why = f"{read.elapsed_s} s of this run was read before as {before}"
                return [self._unread(read, said.now, why)]
        elapsed, reason = (read.elapsed_s, "") if read.elapsed_s else self._elapsed(opened, said.now)
        self._seen[elapsed] = read.a_w
        opened.readings += 1
        opened.last_elapsed = elapsed
        opened.last_late = said.now if said.late else None
        opened.number = opened.number or read.number
        values = {"elapsed_s": elapsed, **read.values()}
        return [entry_at("reading", self.rule.name, opened.key, said.now, values, self._noted(reason), read.text)]

    def _elapsed(self, opened: OpenRun, now: Moment) -> tuple[str, str]:
        """Seconds of the run by this computer, and a word where a restart had the wall's clock speak."""
        seconds, steady = seconds_between(opened.begun, now)
        elapsed = Decimal(f"{seconds:.3f}")
        if opened.last_elapsed:  # two lines that came together: one after the other all the same
            elapsed = max(elapsed, Decimal(opened.last_elapsed) + Decimal("0.001"))
        if steady or opened.by_wall:
            return f"{elapsed:f}", ""
        opened.by_wall = True
        return f"{elapsed:f}", BOOTED

    # End

    def _ended(self, said: Said) -> list[Entry]:
        state, read, repeat = self.state, said.read, self.state.repeat
        if repeat is not None:
            self._drop_repeat()
            if state.open is None or state.open.key != repeat.key:
                state.dropped += 1
                return []
        if state.open is None or (read.number and state.open.number and read.number != state.open.number):
            if read.text == state.last_end or (read.number and self._known.run(self.rule.name, read.number)):
                state.dropped += 1
                return []
            return [self._unread(read, said.now, "an end line, and no such run is open")]
        state.last_end = read.text
        return self._close(said.now, END_LINE, read)

    def _close(self, now: Moment, reason: str, read: LineRead | None = None) -> list[Entry]:
        made, opened = self._waiting_given_up(), self.state.open
        if opened is None:
            return made
        self.state.open, self._seen = None, {}
        if read is None and opened.last_late is not None:  # it was over long before anybody looked
            now = opened.last_late
        values, line = ({}, "") if read is None or read.is_reading else (read.values(), read.text)
        return [*made, entry_at("end", self.rule.name, opened.key, now, values, reason, line)]

    def _waiting_given_up(self) -> list[Entry]:
        waiting, self.state.waiting = self.state.waiting, None
        return [] if waiting is None else [self._unread(waiting.read, waiting.now, "a start, and no reading after it")]

    def _drop_repeat(self) -> None:
        repeat, self.state.repeat = self.state.repeat, None
        self.state.dropped += 0 if repeat is None else sum(1 for one in repeat.held if one.read.text)

    def _unread(self, read: LineRead, now: Moment, reason: str) -> Entry:
        return entry_at("unread", self.rule.name, "", now, {}, reason, read.text)

    def _noted(self, reason: str) -> str:
        """A reason with what has to be said since the last entry, such as a clock that was set."""
        said = "; ".join(part for part in (reason, self.note) if part)
        self.note = ""
        return said

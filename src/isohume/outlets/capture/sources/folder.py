"""A watched folder: files that are dropped into it, or that grow in it.

It is looked at, not subscribed to: shared folders of other computers send no notices. How far a file was read is
committed with its entries. A file put in place of another, cut short, or renamed with lines still unread is seen.
"""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from fnmatch import fnmatch
from pathlib import Path
from typing import Any, BinaryIO

from isohume.outlets.capture.clock import Clock, Moment
from isohume.outlets.capture.file_time import LIVE_S
from isohume.outlets.capture.rule import FolderSource, InstrumentRule
from isohume.outlets.capture.sources.file_mark import FileMark, inode_of, mark_of
from isohume.outlets.capture.sources.framing import ENDS
from isohume.outlets.capture.sources.heard import CONNECTED, LINES, LOST, Heard, Inbox

LOOK_S = 0.5
LOOKED_AGAIN = 5
AT_ONCE = 256 * 1024
NO_END = "a last line without an end: it may be half of one"
NO_BEGINNING = "the rest of a line whose beginning came alone"

Look = tuple[int, int, str]


class WatchedFolder:
    """One instrument's folder."""

    def __init__(
        self, rule: InstrumentRule, inbox: Inbox, clock: Clock, marks: dict[str, dict[str, Any]], look_s: float = LOOK_S
    ) -> None:
        assert isinstance(rule.source, FolderSource)
        self._rule, self._inbox, self._clock, self._look_s = rule, inbox, clock, look_s
        self._folder, self._pattern = Path(rule.source.folder), rule.source.pattern
        self._marks = {path: FileMark(**body) for path, body in marks.items()}
        self._looked: dict[str, Look] = {}
        self._grown_at: dict[str, float] = {}
        self._read_at: dict[str, float] = {}  # when a look last found nothing more in a file
        self._given_up: dict[str, set[str]] = {}
        self._there: bool | None = None

    def run(self) -> None:
        """Until the agent stops."""
        while not self._inbox.stop.is_set():
            self.look()
            self._inbox.stop.wait(self._look_s)

    def look(self) -> None:
        """Once through the folder, the file changed longest ago first."""
        try:
            found = sorted(self._found(), key=lambda one: (one[1].st_mtime_ns, one[0]))
        except OSError as error:
            self._is_there(False, f"{self._folder}: {error.strerror or error}; looking again")
            return
        self._is_there(True, f"watching {self._folder}")
        for name, status in found:
            try:
                self._file(name, status)
            except FileNotFoundError:  # renamed since: what it still holds comes before the files after it
                return
            except OSError:  # locked: at the next look
                continue

    def _found(self) -> list[tuple[str, os.stat_result]]:
        """The files; looked at again where names changed meanwhile, for a list made during a renaming may lack one."""
        found: list[tuple[str, os.stat_result]] = []
        names = self._names()
        for _ in range(LOOKED_AGAIN):
            found = []
            for name in names:
                with suppress(OSError):
                    status = (self._folder / name).stat()
                    if stat.S_ISREG(status.st_mode):
                        found.append((name, status))
            before, names = names, self._names()
            if names == before:
                break
        return found

    def _names(self) -> set[str]:
        return {one for one in os.listdir(self._folder) if fnmatch(one, self._pattern) and not one.startswith(".")}

    def _is_there(self, there: bool, words: str) -> None:
        if there is not self._there:
            self._there = there
            self._inbox.put(Heard(self._rule.name, CONNECTED if there else LOST, self._clock.now(), words=words))

    def _file(self, name: str, status: os.stat_result) -> None:
        look = (status.st_size, status.st_mtime_ns, inode_of(status))
        if self._looked.get(name) != look:
            self._grown_at[name] = self._clock.now().steady
        elif self._at_end(name, status):
            self._read_at[name] = self._clock.now().steady
            return
        with (self._folder / name).open("rb") as file:
            status = os.fstat(file.fileno())  # of the very file that is read
            mark = self._mark(name, file, status)
            new = mark is None
            while mark is None or mark.offset < status.st_size:
                after = self._piece(name, file, status, mark, new_file=new)
                if after is None:
                    break
                mark, new = after, False
        self._looked[name], self._read_at[name] = look, self._clock.now().steady

    def _at_end(self, name: str, status: os.stat_result) -> bool:
        mark = self._marks.get(name)
        return mark is not None and mark.offset >= status.st_size

    def _mark(self, name: str, file: BinaryIO, status: os.stat_result) -> FileMark | None:
        """How far this file was read; None where it is new, also where it bears an old name."""
        mark = self._marks.get(name)
        if mark is not None and mark.is_of(file, status.st_size):
            return mark
        if mark is not None:
            self._renamed_away(name, mark)
        return self._of_old_name(name, file, status)

    def _of_old_name(self, name: str, file: BinaryIO, status: os.stat_result) -> FileMark | None:
        """The mark under a name that this file had before: the furthest, and the names go with the next commit."""
        inode = inode_of(status)
        borne = {old: mark for old, mark in self._marks.items() if mark.inode == inode and old != name}
        known = [mark for mark in borne.values() if mark.is_of(file, status.st_size)]
        if not known:
            return None
        furthest = max(known, key=lambda mark: mark.offset)
        for old in borne:
            del self._marks[old]
        self._given_up.setdefault(name, set()).update(borne)
        self._marks[name] = furthest
        return furthest

    def _renamed_away(self, name: str, mark: FileMark) -> None:
        """Read to its end what bore this name before, where it is still in the folder under another."""
        for path in sorted(self._folder.iterdir()):
            with suppress(OSError):
                status = path.stat()
                if inode_of(status) != mark.inode or path.name == name or path.name in self._marks:
                    continue
                with path.open("rb") as file:
                    while mark.is_of(file, status.st_size) and mark.offset < status.st_size:
                        after = self._piece(name, file, status, mark, to_the_end=True)
                        if after is None:
                            return
                        mark = after
                return

    def _piece(
        self,
        name: str,
        file: BinaryIO,
        status: os.stat_result,
        mark: FileMark | None,
        *,
        new_file: bool = False,
        to_the_end: bool = False,
    ) -> FileMark | None:
        """Hand over the next whole lines; the mark after them, None where there are none yet.

        A last line without an end may be half a number: it waits as long as the run does, and then it is kept as not
        read, and so is its other half.
        """
        offset, now = 0 if mark is None else mark.offset, self._clock.now()
        file.seek(max(0, offset - 1))
        inside = offset > 0 and file.read(1) not in (b"\n", b"\r")
        data = file.read(AT_ONCE)
        whole, doubtful = max(data.rfind(b"\n"), data.rfind(b"\r")) + 1, ""
        if inside and whole:
            whole, doubtful = _first_end(data), NO_BEGINNING
        elif not whole and (len(data) == AT_ONCE or (data and (to_the_end or self._is_quiet(name, now)))):
            whole, doubtful = len(data), NO_END
        if not whole:
            return None
        after = mark_of(file, status, offset + whole)
        lines = tuple(line for line in ENDS.split(data[:whole]) if line)
        names = self._given_up.pop(name, set()) - self._marks.keys()
        kept = (*((old, None) for old in sorted(names)), (name, after.kept()))
        written = self._written_ms(name, status, now)
        heard = Heard(self._rule.name, LINES, now, lines, doubtful, new_file, written, marks=kept)
        if not self._inbox.put(heard):
            return None
        self._marks[name] = after
        return after

    def _is_quiet(self, name: str, now: Moment) -> bool:
        return now.steady - self._grown_at.get(name, 0.0) >= self._rule.run.silence_s

    def _written_ms(self, name: str, status: os.stat_result, now: Moment) -> int:
        """When what is new in a file was written: just now where it was looked at before, else by the file's time."""
        looked = self._read_at.get(name)
        if looked is not None and now.steady - looked <= LIVE_S:
            return now.wall_ms
        return status.st_mtime_ns // 1_000_000


def _first_end(data: bytes) -> int:
    """Behind the first line end of data that has one."""
    return min(place for place in (data.find(b"\n"), data.find(b"\r")) if place >= 0) + 1

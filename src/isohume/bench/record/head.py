"""The head: a small file beside the database that says how far the ledger had come, so that a cut tail is seen.

It is written after the commit, in place, in one write shorter than a disk sector, and not synced: after a kill or
a power cut it may lag behind the ledger, but it is never ahead of it. (A rename would double the cost of a commit.)

Processes and threads write it after they let go of the database, so in any order: each looks first, under a lock on
the file, and never moves the head back. Who cannot get that lock soon writes all the same: a head that lags is caught
up with by the next commit, while a writer that waits for ever would stop the plant.
"""

from __future__ import annotations

import os
import threading
import time
from fcntl import LOCK_EX, LOCK_NB, LOCK_SH, LOCK_UN, flock
from pathlib import Path
from typing import NamedTuple

from isohume.bench.record.tables import GENESIS
from isohume.foundation.quantity.errors import IntegrityError

HEAD_FILE = "ledger.head"
_LENGTH = 15 + 1 + 64 + 1
_FIFTEEN_ZEROS = 10**15
_HEX = frozenset("0123456789abcdef")
_TRIES, _PAUSE_S = 50, 0.001


class Head(NamedTuple):
    """The last line the head file knows of; seq 0 is a ledger without lines."""

    seq: int
    digest: str


EMPTY = Head(0, GENESIS)


def read_head(folder: Path) -> Head | None:
    """The head of a folder's ledger; None where there is no head file.

    An empty file is a store whose creation was cut short: a ledger without lines.
    """
    path = folder / HEAD_FILE
    for _ in range(5):
        try:
            with path.open("rb", buffering=0) as file:
                stored = _read(file.fileno())
        except FileNotFoundError:
            return None
        head = _parsed(stored)
        if head is not None:
            return head
        time.sleep(0.002)  # another process may be in the middle of its write
    raise IntegrityError(f"the head file {HEAD_FILE} does not hold a line number and a digest")


def _parsed(stored: bytes) -> Head | None:
    if not stored:
        return EMPTY
    number, gap, text = stored[:15], stored[15:16], stored[16:80].decode("ascii", "replace")
    shaped = len(stored) == _LENGTH and gap == b" " and stored[80:] == b"\n"
    return Head(int(number), text) if shaped and number.isdigit() and _HEX.issuperset(text) else None


class HeadFile:
    """The head file held open by a writer; threads may share it."""

    def __init__(self, folder: Path, *, create: bool) -> None:
        self._file = os.open(folder / HEAD_FILE, os.O_RDWR | (os.O_CREAT if create else 0), 0o666)
        # a lock on the file keeps other processes out, but not other threads that use the same opened file
        self._one_thread = threading.Lock()
        if create and self.read() == EMPTY:
            self.write(*EMPTY)

    def read(self) -> Head | None:
        """The head as it stands; None if it holds something else."""
        with self._one_thread:
            return _parsed(_read(self._file))

    def write(self, seq: int, digest: str) -> None:
        """Move the head on, never back; the caller has committed that line.

        The number in 15 digits, a space, the digest, a line feed: always as long as before.
        """
        line = f"{str(_FIFTEEN_ZEROS + seq)[1:]} {digest}\n".encode()
        file = self._file
        # few calls, as in Store.append: this is part of every commit
        with self._one_thread:
            held = _locked(file, LOCK_EX)
            try:
                stored = os.pread(file, 15, 0)
                # of the same length, digits compare as the numbers they are; what is no number is written over
                if stored < line[:15] or not stored.isdigit():
                    os.pwrite(file, line, 0)
            finally:
                if held:
                    flock(file, LOCK_UN)

    def close(self) -> None:
        """Close the file."""
        os.close(self._file)


def open_head(folder: Path | str) -> HeadFile:
    """The head file of a store, opened by a process that writes on a database connection of its own.

    folder: the data folder, with a store in it [text].
    Returns: the HeadFile; threads may share it; close it at the end [text].
    Raises: IntegrityError where the store has no head file.
    Source: 21CFR11, 11.10(e).
    """
    try:
        return HeadFile(Path(folder), create=False)
    except FileNotFoundError:
        raise IntegrityError("the head file is missing; nothing was written; run isohume verify") from None


def _read(file: int) -> bytes:
    held = _locked(file, LOCK_SH)
    try:
        return os.pread(file, _LENGTH + 1, 0)
    finally:
        if held:
            flock(file, LOCK_UN)


def _locked(file: int, how: int) -> bool:
    for _ in range(_TRIES):
        try:
            flock(file, how | LOCK_NB)
        except BlockingIOError:
            time.sleep(_PAUSE_S)
        except OSError:  # a file system without locks
            return False
        else:
            return True
    return False

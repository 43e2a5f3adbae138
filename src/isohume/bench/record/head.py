"""The head: a small file beside the database that says how far the ledger had come, so that a cut tail is seen.

It is written after the commit, in place, in one write shorter than a disk sector, and not synced: after a kill or
a power cut it may lag behind the ledger, but it is never ahead of it. (A rename would double the cost of a commit.)
"""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import NamedTuple

from isohume.bench.record.tables import GENESIS
from isohume.foundation.quantity.errors import IntegrityError

HEAD_FILE = "ledger.head"
_LENGTH = 15 + 1 + 64 + 1
_FIFTEEN_ZEROS = 10**15
_HEX = frozenset("0123456789abcdef")


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
            stored = path.read_bytes()
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
    """The head file held open by a writer."""

    def __init__(self, folder: Path, *, create: bool) -> None:
        self._file = os.open(folder / HEAD_FILE, os.O_RDWR | (os.O_CREAT if create else 0), 0o666)
        if create and self.read() == EMPTY:
            self.write(*EMPTY)

    def read(self) -> Head | None:
        """The head as it stands; None if it holds something else."""
        return _parsed(os.pread(self._file, _LENGTH + 1, 0))

    def write(self, seq: int, digest: str) -> None:
        """Move the head; the caller has committed that line.

        The number in 15 digits, a space, the digest, a line feed: always as long as before.
        """
        os.pwrite(self._file, f"{str(_FIFTEEN_ZEROS + seq)[1:]} {digest}\n".encode(), 0)

    def close(self) -> None:
        """Close the file."""
        os.close(self._file)

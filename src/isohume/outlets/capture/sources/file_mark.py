"""How far a file was read, and by what it is known again when its name, or what its name stands for, has changed."""

from __future__ import annotations

import hashlib
import os
from dataclasses import asdict, dataclass
from typing import Any, BinaryIO

HEAD, TAIL = 256, 64


@dataclass(frozen=True, slots=True)
class FileMark:
    """`head` and `tail` are digests of the first bytes, and of the last ones before `offset`."""

    inode: str
    offset: int
    head: str
    tail: str

    def kept(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return asdict(self)

    def is_of(self, file: BinaryIO, size: int) -> bool:
        """Whether a file is still the one that was read: at least as long, and the same where it is looked at."""
        return size >= self.offset and (self.head, self.tail) == _digests(file, self.offset)


def mark_of(file: BinaryIO, status: os.stat_result, offset: int) -> FileMark:
    """The mark of a file read up to an offset."""
    return FileMark(inode_of(status), offset, *_digests(file, offset))


def inode_of(status: os.stat_result) -> str:
    """What stays when a file is renamed."""
    return f"{status.st_dev}:{status.st_ino}"


def _digests(file: BinaryIO, offset: int) -> tuple[str, str]:
    file.seek(0)
    head = file.read(min(HEAD, offset))
    file.seek(max(0, offset - TAIL))
    tail = file.read(min(TAIL, offset))
    return hashlib.sha256(head).hexdigest()[:24], hashlib.sha256(tail).hexdigest()[:24]

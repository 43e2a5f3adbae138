"""One agent a spool: two would number their entries alike."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from isohume.foundation.quantity.errors import InputError

LOCK = "spool.lock"


@contextmanager
def held_alone(folder: Path) -> Iterator[None]:
    """Hold the spool's lock; the system lets go of it however this process ends.

    Raises: InputError where another agent holds it.
    """
    place = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        if not _locked(place):
            raise InputError("spool", str(folder), "a folder that no other isohume capture uses")
        yield
    finally:
        os.close(place)


def is_held(folder: Path) -> bool:
    """Whether an agent runs on this spool."""
    try:
        place = os.open(folder / LOCK, os.O_RDWR)
    except OSError:
        return False
    try:
        return not _locked(place)
    finally:
        os.close(place)


def _locked(place: int) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(place, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(place, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True

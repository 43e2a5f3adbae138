"""The data folder: made where it is not there, writable, and served by one supervisor at a time."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from isohume.foundation.quantity.errors import InputError

LOCK = "serve.lock"
LOGS = "log"
PAPERS = "papers"


def make_folder(folder: Path) -> Path:
    """The data folder with its parts, open to its owner only where it is new.

    Raises: InputError where it cannot be made or written.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for part in (LOGS, PAPERS):
            (folder / part).mkdir(exist_ok=True)
    except OSError as error:
        raise _not_writable(folder, error) from None
    return folder.resolve()


@contextmanager
def served_alone(folder: Path) -> Iterator[None]:
    """Hold the folder's lock; the system lets go of it however this process ends.

    Raises: InputError where another supervisor holds it.
    """
    try:
        place = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise _not_writable(folder, error) from None
    try:
        try:
            fcntl.flock(place, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            who = os.pread(place, 20, 0).decode("ascii", "replace").strip() or "unknown"
            raise InputError("data", str(folder), f"a folder no other isohume serves (process {who} does)") from None
        os.ftruncate(place, 0)
        os.pwrite(place, f"{os.getpid()}\n".encode(), 0)
        yield
    finally:
        os.close(place)


def _not_writable(folder: Path, error: OSError) -> InputError:
    return InputError("data", str(folder), f"a folder that can be written ({error.strerror or error})")

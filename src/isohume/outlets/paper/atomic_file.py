"""A file appears whole or not at all: written beside its place, synced, then renamed over it."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
from pathlib import Path

from isohume.foundation.quantity.errors import InputError

SAFE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}")


def safe_name(record_id: str) -> str:
    """A record's id as the name of a file; an id that could leave the folder is refused."""
    if not SAFE_NAME.fullmatch(record_id):
        raise InputError("record.id", record_id, "letters, digits, points, dashes and underscores, to name a file")
    return record_id


def write_whole(path: Path, content: bytes, *, sync_folder: bool = True) -> Path:
    """Write `content` to `path` so that a reader, or a crash, never meets half of it.

    A batch may leave the folder's own sync to its end (`sync_folder` false, then `sync` once).
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(name)
        raise
    if sync_folder:
        sync(path.parent)
    return path


def sync(folder: Path) -> None:
    """Make the names in a folder durable; where the system cannot open a folder there is nothing to do."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:
        return
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

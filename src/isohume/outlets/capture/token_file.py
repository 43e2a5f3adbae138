"""The agent's token: read from a file that only its owner may read, and never printed."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from isohume.foundation.quantity.errors import InputError

LONGEST = 400


def read_token(path: Path) -> str:
    """The token in a file.

    Raises: InputError, without the file's content.
    """
    status = path.stat()
    if os.name == "posix" and status.st_mode & (stat.S_IRWXG | stat.S_IRWXO):
        mode = f"mode {stat.S_IMODE(status.st_mode):o}"
        raise InputError("token_file", mode, f"mode 600: only its owner may read a token (chmod 600 {path.name})")
    text = path.read_bytes()[: LONGEST + 2].decode("ascii", "replace").strip()
    if not text or len(text) > LONGEST or not text.isascii() or not text.isprintable() or " " in text:
        raise InputError("token_file", path.name, "a file that holds the agent's token and nothing else")
    return text

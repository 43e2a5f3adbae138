"""The installation's secret key: made once, kept in the data folder, readable by its owner only."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

KEY_FILE = "secret.key"


def secret_key(folder: Path) -> str:
    """The key of this installation; made where there is none."""
    path = folder / KEY_FILE
    try:
        return path.read_text(encoding="ascii").strip()
    except FileNotFoundError:
        folder.mkdir(parents=True, exist_ok=True)
    fresh = folder / f".{KEY_FILE}.{os.getpid()}"
    with os.fdopen(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(64) + "\n")
    try:
        os.link(fresh, path)  # the first of several processes wins, and all read the same key
    except FileExistsError:
        pass
    finally:
        fresh.unlink()
    return path.read_text(encoding="ascii").strip()

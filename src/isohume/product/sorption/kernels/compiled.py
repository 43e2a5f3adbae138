"""How a kernel is compiled: once, into a cache folder of its own, under a digest of everything it was made from.

numba's own stale check looks at one file only: a change in a function that a cached kernel calls leaves the kernel
stale and wrong. The digest of all kernels and models in the folder's name makes that impossible.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba

_ROOT = Path(__file__).resolve().parents[1]
_READY = "ready"


def source_digest() -> str:
    """The digest of all that kernels are made from, and of the compiler's version (which tells processors apart)."""
    total = hashlib.sha256(numba.__version__.encode())
    for file in sorted(file for part in ("kernels", "models") for file in (_ROOT / part).glob("*.py")):
        total.update(file.relative_to(_ROOT).as_posix().encode())
        total.update(file.read_bytes())
    return total.hexdigest()[:16]


def cache_folder() -> Path:
    """Where compiled kernels are kept: ISOHUME_CACHE, else the user's cache folder, else a temporary one."""
    base = os.environ.get("ISOHUME_CACHE") or os.environ.get("XDG_CACHE_HOME")
    places = [Path(base)] if base else []
    places += [Path(os.path.expanduser("~")) / ".cache", Path(tempfile.gettempdir()) / f"cache-{os.getuid()}"]
    for place in places:
        folder = place / "isohume" / f"kernels-{source_digest()}"
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError:
            continue
        if os.access(folder, os.W_OK) and folder.stat().st_uid == os.getuid():
            return folder
    return Path(tempfile.mkdtemp(prefix="isohume-kernels-"))


FOLDER = cache_folder()


# Without the compiler's reference counts kernels are several times faster. The price: they allocate nothing and work in
# the room they are handed.
_LEAN: dict[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False}


def kernel(function: Callable[..., Any]) -> Any:
    """A function compiled on first use, without the interpreter's lock, cached in the ring's own folder."""
    settings: Any = numba.config
    before = settings.CACHE_DIR
    settings.CACHE_DIR = str(FOLDER)
    try:
        return numba.njit(cache=True, **_LEAN)(function)
    finally:
        settings.CACHE_DIR = before


def inlined(function: Callable[..., Any]) -> Any:
    """A function compiled as a part of the kernels that call it; it has no cache of its own."""
    return numba.njit(**_LEAN)(function)


def are_ready(which: str) -> bool:
    """Whether these kernels were compiled before, so that the first fit does not wait."""
    return (FOLDER / f"{_READY}-{which}").exists()


def mark_ready(which: str) -> None:
    """Leaves the sign that these are compiled."""
    (FOLDER / f"{_READY}-{which}").touch()

"""How a kernel is compiled: once, into a cache folder of its own, under a digest of everything it was made from.

numba's own stale check looks at one file only: a change in a function that a cached kernel calls leaves the kernel
stale and wrong. The digest of all files of a family of kernels in the folder's name makes that impossible.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numba

_READY = "ready"
# Without the compiler's reference counts kernels are several times faster. The price: they allocate nothing and work in
# the room they are handed.
_LEAN: dict[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False}


class Family:
    """Kernels that are compiled, cached and thrown away together."""

    def __init__(self, name: str, root: Path, parts: Iterable[str]) -> None:
        self.name, self.root, self.parts = name, root, tuple(parts)
        self.folder = _cache_folder(f"{name}-{self.source_digest()}")

    def source_digest(self) -> str:
        """The digest of all that the kernels are made from, and of the compiler's version (which tells processors)."""
        total = hashlib.sha256(numba.__version__.encode())
        total.update(Path(__file__).read_bytes())
        for file in sorted(file for part in self.parts for file in (self.root / part).glob("*.py")):
            total.update(file.relative_to(self.root).as_posix().encode())
            total.update(file.read_bytes())
        return total.hexdigest()[:16]

    def kernel(self, function: Callable[..., Any]) -> Any:
        """A function compiled on first use, without the interpreter's lock, cached in the family's own folder."""
        settings: Any = numba.config
        before = settings.CACHE_DIR
        settings.CACHE_DIR = str(self.folder)
        try:
            return numba.njit(cache=True, **_LEAN)(function)
        finally:
            settings.CACHE_DIR = before

    def are_ready(self, which: str) -> bool:
        """Whether these kernels were compiled before, so that the first use does not wait."""
        return (self.folder / f"{_READY}-{which}").exists()

    def mark_ready(self, which: str) -> None:
        """Leaves the sign that these are compiled."""
        (self.folder / f"{_READY}-{which}").touch()


def inlined(function: Callable[..., Any]) -> Any:
    """A function compiled as a part of the kernels that call it; it has no cache of its own."""
    return numba.njit(**_LEAN)(function)


def arithmetic(function: Callable[..., Any]) -> Any:
    """As `inlined`, and a product may be added without being rounded first; sums keep their order."""
    return numba.njit(fastmath={"contract"}, **_LEAN)(function)


def _cache_folder(name: str) -> Path:
    """Where compiled kernels are kept: ISOHUME_CACHE, else the user's cache folder, else a temporary one."""
    base = os.environ.get("ISOHUME_CACHE") or os.environ.get("XDG_CACHE_HOME")
    places = [Path(base)] if base else []
    places += [Path(os.path.expanduser("~")) / ".cache", Path(tempfile.gettempdir()) / f"cache-{os.getuid()}"]
    for place in places:
        folder = place / "isohume" / name
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError:
            continue
        if os.access(folder, os.W_OK) and folder.stat().st_uid == os.getuid():
            return folder
    return Path(tempfile.mkdtemp(prefix="isohume-kernels-"))

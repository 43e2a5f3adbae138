"""A file on its way through a page: chosen once, carried along in a hidden field until it is taken."""

from __future__ import annotations

import base64
import binascii
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.http import HttpRequest

from isohume.foundation.quantity.errors import InputError

SUFFIXES = (".csv", ".txt", ".tsv", ".xlsx")
LARGEST_BYTES = 2_000_000  # a form carries them along


@dataclass
class Carried:
    """A file by name and content."""

    name: str
    content: bytes

    @property
    def carried(self) -> str:
        """The content as a hidden field holds it."""
        return base64.b64encode(self.content).decode("ascii")


def carried_by(request: HttpRequest, largest_bytes: int) -> Carried:
    """The file as chosen now, or as carried along.

    Raises: InputError at the field `file` for one that is too large, or empty.
    """
    file = request.FILES.get("file")
    if file is not None:
        if file.size > largest_bytes:  # asked before it is read into memory
            raise InputError("file", f"{file.size} bytes", f"1 to {largest_bytes} bytes")
        found = Carried(file.name or "", file.read())
    else:
        try:
            content = base64.b64decode(request.POST.get("content", ""), validate=True)
        except (binascii.Error, ValueError):
            content = b""
        found = Carried(request.POST.get("file_name", ""), content)
    if not found.content:
        raise InputError("file", found.name or "nothing", "a CSV or XLSX file that is not empty")
    return found


@contextmanager
def as_table_file(name: str, content: bytes, largest_bytes: int = LARGEST_BYTES) -> Iterator[Path]:
    """An uploaded table as a file for as long as it is read.

    Raises: InputError at the field `file` for another kind of file, an empty or a too large one.
    """
    suffix = Path(name).suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError("file", name or "nothing", f"a file named {', '.join(SUFFIXES)}")
    if not 0 < len(content) <= largest_bytes:
        raise InputError("file", f"{len(content)} bytes", f"1 to {largest_bytes} bytes")
    with tempfile.TemporaryDirectory(prefix="isohume-upload-") as folder:
        path = Path(folder) / f"uploaded{suffix}"
        path.write_bytes(content)
        yield path


def at_file(error: InputError) -> InputError:
    """The same error at the one field a form has for the whole table, with its row and column in the words."""
    place = "" if error.row is None else f"row {error.row}: "
    what = "" if error.field == "file" else f"{error.field}: "
    return InputError("file", error.value, f"{place}{what}{error.allowed}")

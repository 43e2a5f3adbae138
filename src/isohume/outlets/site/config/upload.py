"""A file on its way through a page: chosen once, carried along in a hidden field until it is taken."""

from __future__ import annotations

import base64
import binascii
from dataclasses import dataclass

from django.http import HttpRequest

from isohume.foundation.quantity.errors import InputError


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

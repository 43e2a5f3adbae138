"""A kept file: the bytes that came from an instrument or a person, once, under their SHA-256."""

from __future__ import annotations

from hashlib import sha256
from typing import NamedTuple

from isohume.bench.record.canonical_form import canonical
from isohume.bench.record.line import Row
from isohume.foundation.quantity.errors import InputError

FILE_KIND = "file"


class FileRow(NamedTuple):
    """A row of the table of files."""

    seq: int
    sha256: str
    name: str
    body: bytes


def file_payload(name: str, digest: str, length: int) -> bytes:
    """What a file's ledger line holds.

    name: the file's name as it was first given [text].
    digest: SHA-256 of its bytes [text].
    length: how many bytes it has [1].
    Returns: the line's payload [text].
    Source: FIPS180-4, 6.2.
    """
    return canonical({"bytes": length, "name": name, "sha256": digest})


def fault_of_file(found: FileRow, line: Row) -> str | None:
    """Why a file is not the one its ledger line speaks of, or None.

    found: the row of the table of files [text].
    line: the good ledger line of the same number [text].
    Returns: the reason [text].
    Source: 21CFR11, 11.10(c).
    """
    ref, payload = line[3], line[4]
    if not isinstance(found.body, bytes):
        return f"file {ref}: its content does not hold the type it was written with"
    if sha256(found.body).hexdigest() != ref:
        return f"file {ref} is not what was kept: its digest does not match its content"
    if found.sha256 != ref:
        return f"file {found.sha256} stands at the ledger line of file {ref}"
    try:
        differs = file_payload(found.name, found.sha256, len(found.body)) != payload
    except InputError:
        differs = True
    return f"file {ref} is not the one that ledger line {line[0]} kept: its name differs" if differs else None

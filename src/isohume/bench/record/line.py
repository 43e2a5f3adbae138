"""A ledger line and its digest: the bytes that are hashed, in one place.

    layout 1 = seq LF previous LF n:at n:kind n:ref payload, in UTF-8

n is the length of what follows it in code points, decimal, and the payload is all the rest, so no two lines share
their bytes.
`previous` is the digest of the line before: changing any line changes what every later line must hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from typing import NamedTuple

Row = tuple[int, str, str, str, bytes, str, str]


class Entry(NamedTuple):
    """One line of the ledger."""

    seq: int
    at: str
    kind: str
    ref: str
    payload: bytes
    previous: str
    digest: str


def line_digest(seq: int, at: str, kind: str, ref: str, payload: bytes, previous: str) -> str:
    """The digest of one ledger line.

        SHA-256(seq LF previous LF n:at n:kind n:ref payload)
    seq: place in the ledger, from 1 [1].
    at: moment of writing, ISO 8601 with offset [text].
    kind: what happened [text].
    ref: what it happened to [text].
    payload: the details, as bytes [text].
    previous: digest of the line before; 64 zeros for the first [text].
    Returns: the digest, 64 hexadecimal digits [text].
    Source: FIPS180-4, 6.2.
    """
    head = f"{seq}\n{previous}\n{len(at)}:{at}{len(kind)}:{kind}{len(ref)}:{ref}"
    return sha256(head.encode() + payload).hexdigest()


def line_digests(rows: Sequence[Row]) -> list[str]:
    """The digests of many ledger lines, each from its own stored `previous`: the loop `verify` spends its time in.

    rows: lines as stored: seq, at, kind, ref, payload, previous, digest [text].
    Returns: what each line's digest must be [text].
    Source: FIPS180-4, 6.2.
    """
    # line_digest written out: a call a row would cost a tenth of the verification
    return [
        sha256(f"{seq}\n{previous}\n{len(at)}:{at}{len(kind)}:{kind}{len(ref)}:{ref}".encode() + payload).hexdigest()
        for seq, at, kind, ref, payload, previous, _ in rows
    ]

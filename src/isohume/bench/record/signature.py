"""A signature: who signed which record, as its digest was, with which meaning and when.

A record is never changed, so its signatures stand beside it. A signature's body names the record and the record's
digest, and its ledger line holds the same body: moved to another record, or edited, it no longer agrees with the chain.
"""

from __future__ import annotations

import json
from typing import Any, NamedTuple

from isohume.bench.record.canonical_form import canonical
from isohume.bench.record.line import Row
from isohume.foundation.quantity.errors import InputError

SIGNATURE_KIND = "signature"
MEANINGS = ("authored", "reviewed", "approved", "released", "rejected", "closed")


class Signature(NamedTuple):
    """A signature as stored. `act` is shared by all records of one signing, and `of` says how many those were."""

    seq: int
    record: str
    digest: str
    person: str
    printed_name: str
    role: str
    meaning: str
    at: str
    act: str
    of: int
    statement: str
    body: bytes


class SignatureRow(NamedTuple):
    """A row of the table of signatures, with the digest of the record it names, if there is one."""

    seq: int
    record: str
    person: str
    meaning: str
    body: bytes
    record_digest: str | None


def signature_body(content: dict[str, Any]) -> bytes:
    """The canonical body of a signature.

    content: record, digest, person, printed_name, role, meaning, at, act, of, statement [text].
    Returns: what is stored, in the signature's row and in its ledger line [text].
    Raises: InputError for an unknown meaning, an empty name, or an act that covers no record.
    Source: 21CFR11, 11.50.
    """
    if content["meaning"] not in MEANINGS:
        raise InputError("meaning", content["meaning"], f"one of {', '.join(MEANINGS)}")
    for field in ("person", "printed_name", "role", "act"):
        text = content[field]
        if not isinstance(text, str) or not text.strip() or "\0" in text:
            raise InputError(field, text, "text without a NUL character, not empty")
    if type(content["of"]) is not int or content["of"] < 1:
        raise InputError("of", content["of"], "how many records are signed at once, 1 or more")
    return canonical(content)


def signature_of(seq: int, body: bytes) -> Signature:
    """A signature from its body.

    seq: its place in the ledger [1].
    body: the body as stored [text].
    Returns: the Signature [text].
    Source: 21CFR11, 11.50.
    """
    content = json.loads(body)
    return Signature(seq=seq, body=body, **{name: content[name] for name in Signature._fields if name in content})


def fault_of_signature(found: SignatureRow, line: Row) -> str | None:
    """Why a signature is not the one its ledger line speaks of, or does not sign the record it names; or None.

    found: the row of the table of signatures [text].
    line: the good ledger line of the same number [text].
    Returns: the reason [text].
    Source: 21CFR11, 11.70.
    """
    ref, payload = line[3], line[4]
    who = f"signature {line[0]} of record {ref}"
    if not isinstance(found.body, bytes):
        return f"{who}: its body does not hold the type it was written with"
    if found.record != ref:
        return f"signature {line[0]} stands at record {found.record}, but record {ref} was signed"
    if found.body != payload:
        return f"{who} is not what was signed: its body differs from its ledger line"
    try:
        said = signature_of(found.seq, found.body)
    except (ValueError, TypeError):
        return f"{who}: its body is not that of a signature"
    for name, stored in (("record", found.record), ("person", found.person), ("meaning", found.meaning)):
        if getattr(said, name) != stored:
            return f"{who} is not what was signed: {name} differs"
    if found.record_digest is None:
        return f"{who}: there is no such record"
    if said.digest != found.record_digest:
        return f"{who} signs another content than the record has: the digests differ"
    return None

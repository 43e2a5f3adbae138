"""Who signed a record, with which meaning and when, and that the signature belongs to this very content."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.blocks import Block, section, table, text
from isohume.outlets.paper.record_fields import items, need
from isohume.outlets.paper.record_words import moment, plain

if TYPE_CHECKING:
    from isohume.bench.record.signature import Signature

BOUND = (
    "Each signature holds the SHA-256 of this record's content, the one printed on this page's foot, and stands in the "
    "ledger: of another content it would not verify."
)


def signed_word(record: Mapping[str, Any], signatures: Sequence[Signature]) -> str:
    """What the foot of every page says."""
    return "Signed" if signatures or items(record, "signatures") else "Not signed"


def signature_section(record: Mapping[str, Any], digest: str, signatures: Sequence[Signature]) -> Block:
    """Every signature with printed name, role, meaning and moment, or that there is none."""
    _refuse_strangers(record, digest, signatures)
    rows = [
        ([plain(s.get("name")), plain(s.get("role")), plain(s.get("meaning")), moment(s.get("at"))], "")
        for s in items(record, "signatures")
    ]
    rows += [([s.printed_name, s.role, s.meaning, moment(s.at)], _note(s)) for s in signatures]
    if not rows:
        return section("Signatures", text("Not signed."))
    listed = table(["Name|wide", "Role", "Meaning", "At"], rows)
    return section("Signatures", listed, text(BOUND) if signatures else None)


def _note(signature: Signature) -> str:
    """The statement that was signed, and whether it covered more than this record."""
    many = f"One of {signature.of} records signed in one act." if signature.of > 1 else ""
    return " ".join(words for words in (signature.statement, many) if words)


def _refuse_strangers(record: Mapping[str, Any], digest: str, signatures: Sequence[Signature]) -> None:
    """A signature of another record, or of another content, is never printed under this one."""
    name = str(need(record, "id"))
    for signature in signatures:
        if signature.record != name or signature.digest != digest:
            raise InputError(
                "signatures", f"{signature.record} {signature.digest[:12]}", f"signatures of {name} {digest[:12]}"
            )

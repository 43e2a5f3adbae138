"""A frozen record to its certificate as PDF/A-2b: the same record and signatures give the same bytes, everywhere.

Only the fonts built into the compiler are used, the document's date is the record's own, and all texts go
in as JSON data, so that nothing in a record is ever read as markup.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, get_args

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.from_record import certificate_content
from isohume.outlets.paper.qr import qr_svg, seal
from isohume.outlets.paper.record_fields import need
from isohume.outlets.paper.typesetter import Paper, compile_pdf, printable
from isohume.outlets.paper.verdict_mark import verdict_mark

if TYPE_CHECKING:
    from isohume.bench.record.signature import Signature

DIGEST = re.compile(r"[0-9a-f]{64}")
LONGEST_WORD = 28  # characters of one word before a line may break inside it
PIECE = 8
WHOLE = {"digest", "svg", "title"}  # not set as running text


def certificate_pdf(
    record: Mapping[str, Any], digest: str, paper: Paper | str = "a4", signatures: Sequence[Signature] = ()
) -> bytes:
    """The certificate of a record as PDF/A-2b.

    record: the frozen record, schema isohume.record/1 [dict].
    digest: SHA-256 of the record's canonical form, 64 lower-case hexadecimal digits [text].
    paper: a4 or us-letter [text].
    signatures: the record's signatures as the store gives them; none prints "Not signed." [text].
    Returns: the PDF's bytes.
    Raises: InputError where the record lacks what the certificate must say, for a wrong digest or paper, or for
        a signature of another record.
    """
    if paper not in get_args(Paper):
        raise InputError("paper", paper, f"one of {', '.join(get_args(Paper))}")
    inputs = {"content": template_data(record, digest, signatures), "paper": paper}
    return compile_pdf(_template(), inputs, issued_at(record))


def template_data(record: Mapping[str, Any], digest: str, signatures: Sequence[Signature] = ()) -> str:
    """What the template is given, as JSON: the content, the marks, and the words of the file's own header."""
    if not DIGEST.fullmatch(digest):
        raise InputError("digest", digest, "64 lower-case hexadecimal digits of SHA-256")
    to_print = printable()
    shown = to_print(dict(record))
    signed = [type(signature)(*to_print(list(signature))) for signature in signatures]
    content = breakable(certificate_content(shown, digest, signed))
    name = str(shown["id"])
    extra = {
        "qr": qr_svg(seal(name, digest)),
        "mark": verdict_mark(str(need(record, "decision", "verdict")), str(need(record, "decision", "disposition"))),
        "digest_short": f"{digest[:12]}…",
        "document_title": f"{content['title']}, {name}",
        "document_author": str(need(shown, "site", "name")),
        "document_keywords": [seal(name, digest)],
    }
    return json.dumps(content | extra, ensure_ascii=False)


def issued_at(record: Mapping[str, Any]) -> datetime:
    """The moment the record was issued, which is also the date inside the file."""
    text = need(record, "issued_at")
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        raise InputError("record.issued_at", text, "an ISO 8601 moment with its offset")
    return at


def breakable(value: Any) -> Any:
    """The content with every text that holds a very long word cut into pieces a line may break between."""
    if isinstance(value, str):
        longest = max(map(len, value.split()), default=0)
        if longest <= LONGEST_WORD:
            return value
        return re.findall(rf"\s*\S{{1,{PIECE}}}|\s+$", value)
    if isinstance(value, dict):
        return {key: item if key in WHOLE else breakable(item) for key, item in value.items()}
    return [breakable(item) for item in value] if isinstance(value, list) else value


@cache
def _template() -> bytes:
    return files(__package__).joinpath("certificate.typ").read_bytes()

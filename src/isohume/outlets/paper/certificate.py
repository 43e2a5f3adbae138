"""A frozen record to its certificate as PDF/A-2b: the same record gives the same bytes, everywhere.

Only the fonts built into the compiler are used, the document's date is the record's own, and all texts go
in as JSON data, so that nothing in a record is ever read as markup.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any, Literal, get_args

import typst

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.from_record import certificate_content
from isohume.outlets.paper.glyphs import Printable
from isohume.outlets.paper.qr import qr_svg, seal
from isohume.outlets.paper.record_fields import need
from isohume.outlets.paper.verdict_mark import verdict_mark

Paper = Literal["a4", "us-letter"]
STANDARD: Literal["a-2b"] = "a-2b"
DIGEST = re.compile(r"[0-9a-f]{64}")
LONGEST_WORD = 28  # characters of one word before a line may break inside it
PIECE = 8
WHOLE = {"digest", "svg", "title"}  # not set as running text
PROBE = (
    b'#set text(font: "Libertinus Serif")\n'
    b"#let d = json(bytes(sys.inputs.content))\n"
    b"#d.text *#d.text*\n"
    b'#image(bytes(d.svg), format: "svg")'
)


def certificate_pdf(record: Mapping[str, Any], digest: str, paper: Paper | str = "a4") -> bytes:
    """The certificate of a record as PDF/A-2b.

    record: the frozen record, schema isohume.record/1 [dict].
    digest: SHA-256 of the record's canonical form, 64 lower-case hexadecimal digits [text].
    paper: a4 or us-letter [text].
    Returns: the PDF's bytes.
    Raises: InputError where the record lacks what the certificate must say, or for a wrong digest or paper.
    """
    if paper not in get_args(Paper):
        raise InputError("paper", paper, f"one of {', '.join(get_args(Paper))}")
    inputs = {"content": template_data(record, digest), "paper": paper}
    return _compile(_template(), inputs, issued_at(record))


def template_data(record: Mapping[str, Any], digest: str) -> str:
    """What the template is given, as JSON: the content, the marks, and the words of the file's own header."""
    if not DIGEST.fullmatch(digest):
        raise InputError("digest", digest, "64 lower-case hexadecimal digits of SHA-256")
    shown = _printable()(dict(record))
    content = breakable(certificate_content(shown, digest))
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


@cache
def _compiler() -> typst.Compiler:
    """One compiler for the life of the process: it keeps fonts and the parsed template."""
    return typst.Compiler(ignore_system_fonts=True)


@cache
def _printable() -> Printable:
    return Printable(_can_show)


def _can_show(text: str) -> bool:
    """Whether the fonts show every character of a text, in running text and in a picture."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">'
        '<text y="5" font-family="Libertinus Serif" font-size="9">'
        f"{''.join(f'&#{ord(c)};' for c in text)}</text></svg>"
    )
    try:
        _compile(PROBE, {"content": json.dumps({"text": text, "svg": svg})}, None)
    except typst.TypstError:
        return False
    return True


def _compile(source: bytes, inputs: dict[str, str], at: datetime | None) -> bytes:
    pdf = _compiler().compile(input=source, sys_inputs=inputs, format="pdf", pdf_standards=STANDARD, timestamp=at)
    if not isinstance(pdf, bytes):
        raise TypeError("the compiler returned no single document")
    return pdf

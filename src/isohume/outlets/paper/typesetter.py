"""The typesetter behind every paper: PDF/A-2b from a template and data, with the compiler's own fonts alone."""

from __future__ import annotations

import json
from datetime import datetime
from functools import cache
from typing import Literal

import typst

from isohume.outlets.paper.glyphs import Printable

Paper = Literal["a4", "us-letter"]
STANDARD: Literal["a-2b"] = "a-2b"
PROBE = (
    b'#set text(font: "Libertinus Serif")\n'
    b"#let d = json(bytes(sys.inputs.content))\n"
    b"#d.text *#d.text*\n"
    b'#image(bytes(d.svg), format: "svg")'
)


def compile_pdf(source: bytes, inputs: dict[str, str], at: datetime | None) -> bytes:
    """A template with its data as PDF/A-2b, dated `at`."""
    pdf = _compiler().compile(input=source, sys_inputs=inputs, format="pdf", pdf_standards=STANDARD, timestamp=at)
    if not isinstance(pdf, bytes):
        raise TypeError("the compiler returned no single document")
    return pdf


@cache
def printable() -> Printable:
    """What turns texts into those the fonts can show; it remembers every character it has asked for."""
    return Printable(_can_show)


@cache
def _compiler() -> typst.Compiler:
    """One compiler for the life of the process: it keeps fonts and the parsed template."""
    return typst.Compiler(ignore_system_fonts=True)


def _can_show(text: str) -> bool:
    """Whether the fonts show every character of a text, in running text and in a picture."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">'
        '<text y="5" font-family="Libertinus Serif" font-size="9">'
        f"{''.join(f'&#{ord(c)};' for c in text)}</text></svg>"
    )
    try:
        compile_pdf(PROBE, {"content": json.dumps({"text": text, "svg": svg})}, None)
    except typst.TypstError:
        return False
    return True

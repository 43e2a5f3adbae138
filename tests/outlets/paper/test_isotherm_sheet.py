"""The sheet of an isotherm on paper: everything it must say, page n of N, its digest; hostile words are words."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pymupdf
import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.isotherm_sheet import Sheet, isotherm_pdf
from isohume.outlets.paper.isotherm_spec import IsothermSpec, SorptionCurve, SorptionLimit, SorptionPoint

A_W = (0.1, 0.3, 0.5, 0.7, 0.9)
MOISTURE = (0.04, 0.07, 0.10, 0.17, 0.38)
PICTURE = IsothermSpec(
    "Isotherm of Soft oat bar",
    [SorptionPoint(a, m) for a, m in zip(A_W, MOISTURE, strict=True)],
    [SorptionCurve("GAB", A_W, MOISTURE)],
    SorptionLimit(0.6, 0.13, 0.12, 0.14, 0.58, 0.62),
    "95 %",
)
SHEET = Sheet(
    name="study-3",
    site="Harrow Lane Oat Works, Bench room 2",
    title="Isotherm of Soft oat bar, formula 7",
    at=datetime(2026, 9, 16, 9, 0, tzinfo=UTC),
    answer="Moisture limit for a_w 0.60: 0.120 to 0.140 kg/kg dry basis (10.7 to 12.3 % wet basis)",
    holds="95 % interval; adsorption at 25.0 degC, formula version 7",
    digest="ab" * 32,
    picture=PICTURE,
    reasons=["GAB has the least AICc"],
    models=[
        (("GAB (recommended)", "monolayer_db 0.060 kg/kg (u 0.001)", "5", "0.001", "1.2", "-60.1", "0.9"), "to mind")
    ],
    points=[
        ((str(n), str(a), str(m), "3.8", "0.04", ""), "") for n, (a, m) in enumerate(zip(A_W, MOISTURE, strict=True), 2)
    ],
    stands_on=[("SHA-256 of the file", "cd" * 32)],
    facts=[("Keep at or below, with 95 % assurance", "0.121 kg/kg dry basis")],
)


def text_of(pdf: bytes) -> str:
    """All words of a paper."""
    with pymupdf.open(stream=pdf, filetype="pdf") as paper:
        return " ".join(" ".join(page.get_text() for page in paper).split())


def test_it_says_everything_it_was_given() -> None:
    text = text_of(isotherm_pdf(SHEET))
    for words in (SHEET.title, SHEET.holds, SHEET.digest, *SHEET.reasons, "GAB (recommended)", "to mind", SHEET.site):
        assert words in text, words
    assert "0.120 to 0.140 kg/kg dry basis" in text
    assert "page 1 of 1" in text or "page 1 of 2" in text
    assert "does not replace" in text
    assert "cd" * 32 in text.replace(" ", "")


def test_the_same_sheet_gives_the_same_bytes_as_an_archive_file() -> None:
    first = isotherm_pdf(SHEET)
    assert first == isotherm_pdf(SHEET)
    assert b"pdfaid" in first
    assert isotherm_pdf(SHEET, "us-letter") != first


def test_no_word_is_read_as_markup() -> None:
    bad = '#panic("no") $x$ *bold* <script>alert(1)</script> \u202e \U0001f956'
    text = text_of(isotherm_pdf(replace(SHEET, title=bad, answer=bad, reasons=[bad], site=bad)))
    assert text.replace(" ", "").count('#panic("no")$x$*bold*<script>alert(1)</script>') >= 3


def test_many_points_go_on_on_the_next_page() -> None:
    many = [((str(n), "0.5", "0.1", "9.1", "0.1", ""), "") for n in range(2, 202)]
    with pymupdf.open(stream=isotherm_pdf(replace(SHEET, points=many)), filetype="pdf") as paper:
        assert len(paper) > 3
        assert f"page {len(paper)} of {len(paper)}" in " ".join(paper[-1].get_text().split())


def test_another_paper_or_a_digest_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="paper"):
        isotherm_pdf(SHEET, "a5")
    with pytest.raises(InputError, match="digest"):
        isotherm_pdf(replace(SHEET, digest="short"))

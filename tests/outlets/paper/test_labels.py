"""Scan labels, read back from their sheet as a scanner and a person would."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pymupdf
import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.labels import Label, labels_pdf, write_labels

ReadText = Callable[[bytes], str]
LINES = ("Soft oat bar, line 2", "S1 from belt 3, left", "Portion A", "2026-11-24 08:10")
MM = 72 / 25.4
SIZE_MM = {"a4": (210, 297), "us-letter": (215.9, 279.4)}


def label(number: int) -> Label:
    """A label of the invented oat works."""
    return Label(f"iso:p:{number}", f"SB-1124-{number:02d}", LINES)


def cells(paper: str) -> list[pymupdf.Rect]:
    """The 24 places of a sheet, row by row, inside margins of 8 and 10 mm."""
    wide, high = SIZE_MM[paper]
    x, y = (wide - 16) / 3 * MM, (high - 20) / 8 * MM
    return [
        pymupdf.Rect(8 * MM + i * x, 10 * MM + j * y, 8 * MM + (i + 1) * x, 10 * MM + (j + 1) * y)
        for j in range(8)
        for i in range(3)
    ]


def scanned(page: pymupdf.Page, cell: pymupdf.Rect) -> str:
    """What a reader of QR marks finds in one place of a sheet."""
    pixels = page.get_pixmap(dpi=200, clip=cell, colorspace=pymupdf.csGRAY)
    return str(pymupdf.mupdf.fz_decode_barcode_from_pixmap2(pixels.this, 0)[0])


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_every_label_scans_and_reads_in_its_own_place_of_3_by_8(paper: str) -> None:
    with pymupdf.open(stream=labels_pdf([label(n) for n in range(1, 25)], paper), filetype="pdf") as document:
        assert len(document) == 1
        page = document[0]
        wide, high = SIZE_MM[paper]
        assert page.rect.width == pytest.approx(wide * MM, abs=0.1)
        assert page.rect.height == pytest.approx(high * MM, abs=0.1)
        for number, cell in enumerate(cells(paper), 1):
            assert scanned(page, cell) == f"iso:p:{number}"
            words = page.get_text(clip=cell)
            assert [line for line in (f"SB-1124-{number:02d}", f"iso:p:{number}", *LINES) if line not in words] == []


def test_the_25th_label_begins_a_second_sheet() -> None:
    with pymupdf.open(stream=labels_pdf([label(n) for n in range(1, 26)]), filetype="pdf") as document:
        assert len(document) == 2
        assert scanned(document[1], cells("a4")[0]) == "iso:p:25"
        assert "SB-1124-24" not in document[1].get_text()


def test_a_sheet_is_black_and_white_with_cut_lines() -> None:
    with pymupdf.open(stream=labels_pdf([label(1), label(2)]), filetype="pdf") as document:
        page = document[0]
        colours = {colour for d in page.get_drawings() for colour in (d["color"], d["fill"]) if colour is not None}
        inks = {span["color"] for b in page.get_text("dict")["blocks"] for ln in b["lines"] for span in ln["spans"]}
        assert colours <= {(0.0, 0.0, 0.0), (1.0, 1.0, 1.0)}
        assert inks == {0}
        assert any(d["dashes"] not in ("", "[] 0") for d in page.get_drawings())


@pytest.mark.parametrize("letter", ["W", "l"])
def test_the_longest_words_stay_inside_their_own_label(letter: str) -> None:
    long = Label("iso:p:7", letter * 200, (letter * 200,) * 4)
    with pymupdf.open(stream=labels_pdf([label(1), long, label(3), label(4), label(5)]), filetype="pdf") as document:
        page, places = document[0], cells("a4")
        for number in (1, 3, 4, 5):
            words = page.get_text(clip=places[number - 1])
            assert letter * 8 not in words
            assert f"SB-1124-{number:02d}" in words
        assert scanned(page, places[1]) == "iso:p:7"
        assert letter * 8 in page.get_text(clip=places[1])


def test_markup_and_reversing_marks_are_printed_as_they_are(text_of: ReadText) -> None:
    text = text_of(labels_pdf([Label("iso:s:4", "#pagebreak() $x$ *b*", ("<b>hot</b>", "a\u202eb"))]))
    assert "#pagebreak() $x$ *b*" in text
    assert "<b>hot</b>" in text
    assert "a[U+202E]b" in text


def test_a_sheet_is_written_from_the_mappings_of_a_job_too(tmp_path: Path, text_of: ReadText) -> None:
    place = write_labels([{"code": "iso:s:9", "title": "Belt 3", "lines": ["wet end"]}], tmp_path / "new" / "l.pdf")
    assert place == tmp_path / "new" / "l.pdf"
    assert [p.name for p in place.parent.iterdir()] == ["l.pdf"]
    assert "Belt 3 wet end" in text_of(place.read_bytes())


@pytest.mark.parametrize("code", ["", "iso p 1", "iso:p:\u00e9", "x" * 61, "iso:p:1\n"])
def test_a_code_no_scanner_types_is_refused(code: str) -> None:
    with pytest.raises(InputError) as refused:
        Label(code, "title")
    assert refused.value.field == "code"


def test_no_label_too_many_lines_and_other_paper_are_refused() -> None:
    with pytest.raises(InputError, match="labels"):
        labels_pdf([])
    with pytest.raises(InputError, match="labels"):
        labels_pdf([label(1)] * 961)
    with pytest.raises(InputError, match="5 lines"):
        Label("iso:p:1", "title", ("a",) * 5)
    with pytest.raises(InputError, match="us-letter"):
        labels_pdf([label(1)], "a3")

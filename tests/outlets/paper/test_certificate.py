"""The certificate itself, read back from its PDF by an independent library."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pymupdf
import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.certificate import certificate_pdf

ReadText = Callable[[bytes], str]
RECORD = Path(__file__).parent / "record.json"
REQUIRED = (
    "Certificate of water activity",
    "R000001",
    "Harrow Lane Oat Works, Bench room 2",
    "invented plant, demonstration data",
    "SB-1124-07",
    "Soft oat bar, line 2",
    "Customer None named",
    "Produced 2026-11-23",
    "Received 2026-11-24T08:10Z",
    "Tested 2026-11-24T09:02Z to 2026-11-24T09:20Z",
    "Issued 2026-11-24T15:42:10Z",
    "Water activity of cut bars, version 3",
    "25.0 °C ± 0.5 °C",
    "Product specification SB-4 of the plant",
    "OW-1, serial OW1-0417; dew point",
    "Pass against specification version 4",
    "Disposition: release",
    "Probability of conformity: above 0.9999",
    "Water activity 0.6323, U = 0.0075 (k = 2); mean of 2",
    "at most 0.650 (≤ 0.650)",
    "Guarded acceptance, w = 1.64 u (ILAC-G8:09/2019, 4.2.3 non-binary statement)",
    "0.6323 lies inside the acceptance limit 0.6438.",
    "Sampling not included",
    "limit ≤ 0.650",
    "MgCl2 0.3280, read 0.3286",
    "Portion B was read before (run 42): a re-read is not a replicate.",
    "Void: lid left off, found before the value was read.",
    "Range 0.0016; allowed 0.0056",
    "MgCl2, saturated, lot MC-118 24.85 0.3280 0.3286 2 +0.0006 0.18 yes",
    "NaCl, saturated, lot SC-201 25.05 0.7530 0.7542 2 +0.0012 0.37 yes",
    "Slope 1.0014, u = 0.0057",
    "2026-11-24T06:05Z until 2026-11-25T06:05Z",
    "No closing check.",
    "the laboratory's own data",
    "everything but repeatability 0.0035 0.86",
    "U = k u = 0.0075, k = 2",
    "11.82 g per 100 g of product (wet basis)",
    "Balance check 10 g: 10.0001 g, within 0.0010 g",
    "Buffers 4.01 and 7.00 read 4.02 and 6.99",
    "p = Phi((U - y)/u)",
    "JCGM106; normal distribution of the value",
    "soft-bar.toml",
    "b94d27b9934d3e08a52e52d7da7dabfac484efe37a5380ee9088f7ace2efcde9",
    "None named in this record.",
    "Not signed",
    "supports, and does not replace, the process authority",
    "Results relate only to the items tested.",
)


def test_every_required_item_is_printed(record: dict[str, Any], digest: str, text_of: ReadText) -> None:
    text = text_of(certificate_pdf(record, digest))
    assert [item for item in REQUIRED if item not in text] == []
    assert digest in text.replace(" ", "")


def test_every_page_carries_its_number_the_record_the_digest_and_the_qr_mark(
    record: dict[str, Any], digest: str
) -> None:
    with pymupdf.open(stream=certificate_pdf(record, digest), filetype="pdf") as document:
        count = len(document)
        assert count >= 2
        for number, page in enumerate(document, 1):
            text = page.get_text()
            assert f"page {number} of {count}" in text
            assert "R000001" in text
            assert digest[:12] in text
            corner = pymupdf.Rect(0, page.rect.height - 110, 130, page.rect.height)
            pixels = page.get_pixmap(dpi=200, clip=corner, colorspace=pymupdf.csGRAY)
            decoded = pymupdf.mupdf.fz_decode_barcode_from_pixmap2(pixels.this, 0)[0]
            assert decoded == f"isohume:R000001:sha256:{digest}"


def test_the_answer_and_the_line_stand_on_the_first_page(record: dict[str, Any], digest: str) -> None:
    with pymupdf.open(stream=certificate_pdf(record, digest), filetype="pdf") as document:
        first = document[0].get_text()
    assert first.index("Pass against") < first.index("mean of 2: 0.6323")
    assert "Statement of" in first


def test_the_file_says_which_archive_format_it_was_made_for(record: dict[str, Any], digest: str) -> None:
    with pymupdf.open(stream=certificate_pdf(record, digest), filetype="pdf") as document:
        packet = document.get_xml_metadata()
        assert re.search(r"<pdfaid:part>2</pdfaid:part>", packet)
        assert re.search(r"<pdfaid:conformance>B</pdfaid:conformance>", packet)
        assert digest in packet
        assert document.metadata["title"] == "Certificate of water activity, R000001"
        assert document.metadata["creationDate"].startswith("D:20261124154210")
        assert "PDF/A" not in "".join(page.get_text() for page in document)


def test_all_fonts_are_inside_the_file(record: dict[str, Any], digest: str) -> None:
    with pymupdf.open(stream=certificate_pdf(record, digest), filetype="pdf") as document:
        fonts = {font[0]: font for page in document for font in page.get_fonts()}
        assert fonts
        for xref in fonts:
            assert document.extract_font(xref)[3], "a font is named but not inside"


def test_the_same_record_gives_the_same_bytes(record: dict[str, Any], digest: str) -> None:
    first = certificate_pdf(record, digest)
    other = certificate_pdf({**record, "id": "R000009"}, digest)
    assert certificate_pdf(record, digest) == first
    assert other != first


def test_another_process_gives_the_same_bytes(record: dict[str, Any], digest: str) -> None:
    code = (
        "import json, sys\n"
        "from isohume.outlets.paper import certificate_pdf\n"
        "record = json.load(open(sys.argv[1], encoding='utf-8'))\n"
        "sys.stdout.buffer.write(certificate_pdf(record, sys.argv[2]))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(RECORD), digest], capture_output=True, check=True)
    assert done.stdout == certificate_pdf(record, digest)


def test_no_percent_sign_beside_a_water_activity(record: dict[str, Any], digest: str, text_of: ReadText) -> None:
    record["companions"] = []  # the pH check of the demonstration record speaks of a slope in percent
    assert "%" not in text_of(certificate_pdf(record, digest))


@pytest.mark.parametrize(
    "name",
    [
        '#eval("1+1") $a^2$ [b] `c` *f* _g_ <h> @i',
        "\"quoted\" 'single' -- --- ... ~ \\ \\n // no comment /* none */",
        '= heading #show: none #import "x": * #set page(width: 1pt)',
        "</text><script>alert(1)</script> &amp; &lt;",
    ],
)
def test_a_lot_name_prints_literally(record: dict[str, Any], digest: str, text_of: ReadText, name: str) -> None:
    record["lot"]["id"] = record["lot"]["description"] = record["check"]["solutions"][0]["solution"] = name
    text = text_of(certificate_pdf(record, digest)).replace(" ", "")
    assert text.count(name.replace(" ", "")) >= 3


def test_any_writing_is_printed_or_shown_as_code_points(record: dict[str, Any], digest: str, text_of: ReadText) -> None:
    record["lot"]["description"] = "Äpfel, Żurawina, клюква, ελιά, 燕麦 \U0001f36b \u202egnol"
    record["check"]["solutions"][0]["solution"] = "食塩"
    text = text_of(certificate_pdf(record, digest))
    assert "Äpfel, Żurawina, клюква, ελιά, [U+71D5][U+9EA6] [U+1F36B] [U+202E]gnol" in text
    assert "[U+98DF][U+5869]" in text


def test_a_very_long_word_stays_on_the_page(record: dict[str, Any], digest: str) -> None:
    record["lot"]["id"] = "L" * 150
    with pymupdf.open(stream=certificate_pdf(record, digest), filetype="pdf") as document:
        for page in document:
            for x0, _, x1, _, *_ in page.get_text("words"):
                assert x0 >= 0
                assert x1 <= page.rect.width - 30
        words = "".join(document[0].get_text().split())
    assert "L" * 150 in words


def test_forty_readings_repeat_the_header_of_their_table(record: dict[str, Any], digest: str) -> None:
    record["readings"] = [{**record["readings"][i % 4], "run": str(100 + i), "row": i + 2} for i in range(60)]
    with pymupdf.open(stream=certificate_pdf(record, digest), filetype="pdf") as document:
        pages = [page.get_text() for page in document]
    assert sum("Block °C" in page for page in pages) >= 2
    everything = "\n".join(pages)
    assert all(re.search(rf"^{100 + i}$", everything, re.MULTILINE) for i in range(60))


def test_letter_paper_has_its_size_and_the_same_words(record: dict[str, Any], digest: str, text_of: ReadText) -> None:
    pdf = certificate_pdf(record, digest, "us-letter")
    with pymupdf.open(stream=pdf, filetype="pdf") as document:
        assert (round(document[0].rect.width), round(document[0].rect.height)) == (612, 792)
    assert [item for item in REQUIRED if item not in text_of(pdf)] == []


def test_words_are_large_enough_to_read(record: dict[str, Any], digest: str) -> None:
    # body text at least 9.5 pt; only the digest and the index letters are smaller
    with pymupdf.open(stream=certificate_pdf(record, digest), filetype="pdf") as document:
        small = [
            span["text"]
            for page in document
            for block in page.get_text("dict")["blocks"]
            for line in block.get("lines", [])
            for span in line["spans"]
            if span["size"] < 9.3 and span["text"].strip()
        ]
    assert [text for text in small if not (text.strip() in ("w", "n") or text.strip("…") in digest)] == []


def test_a_refused_lot_gets_a_report_without_a_statement(
    refused: dict[str, Any], digest: str, text_of: ReadText
) -> None:
    text = text_of(certificate_pdf(refused, digest))
    assert "Report of measurement, no statement of conformity" in text
    assert "Not bracketed above." in text
    assert "Statement of conformity" not in text
    assert "Probability of conformity:" not in text


def test_a_wrong_digest_paper_or_moment_is_refused(record: dict[str, Any], digest: str) -> None:
    with pytest.raises(InputError, match="digest"):
        certificate_pdf(record, "3F" * 32)
    with pytest.raises(InputError, match="us-letter"):
        certificate_pdf(record, digest, "a3")
    with pytest.raises(InputError, match="issued_at"):
        certificate_pdf({**record, "issued_at": "2026-11-24T15:42:10"}, digest)


def test_the_record_can_come_straight_from_its_stored_text(digest: str) -> None:
    assert certificate_pdf(json.loads(RECORD.read_bytes()), digest).startswith(b"%PDF-1.7")

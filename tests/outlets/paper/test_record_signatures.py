"""Signatures of a record on its certificate: who, as what, with which meaning, when, and of which content."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from isohume.bench.record.signature import Signature
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.certificate import certificate_pdf
from isohume.outlets.paper.certificate_file import certificates, write_certificate
from isohume.outlets.paper.from_record import certificate_content
from isohume.outlets.paper.record_signatures import BOUND

ReadText = Callable[[bytes], str]


def signature(digest: str, **other: Any) -> Signature:
    """A signature of an invented person under the demonstration record."""
    given: dict[str, Any] = {
        "seq": 40,
        "record": "R000001",
        "digest": digest,
        "person": "mara",
        "printed_name": "Mara Ågren",
        "role": "quality manager",
        "meaning": "released",
        "at": "2026-11-24T16:05:09+00:00",
        "act": "7c1d",
        "of": 1,
        "statement": "I release this lot.",
        "body": b"{}",
    }
    return Signature(**{**given, **other})


def said(content: dict[str, Any]) -> str:
    """All words of the section on signatures."""
    return json.dumps(next(s for s in content["sections"] if s["title"] == "Signatures"), ensure_ascii=False)


def test_signatures_are_printed_with_name_role_meaning_and_moment(
    record: dict[str, Any], digest: str, text_of: ReadText
) -> None:
    signed = [
        signature(digest),
        signature(
            digest, seq=41, printed_name="Otto Invented", role="reviewer", meaning="approved", of=12, statement=""
        ),
    ]
    text = text_of(certificate_pdf(record, digest, signatures=signed))
    for words in (
        "Mara Ågren quality manager released 2026-11-24T16:05:09Z",
        "I release this lot.",
        "Otto Invented reviewer approved",
        "One of 12 records signed in one act.",
        BOUND,
    ):
        assert words in text
    assert "R000001 Signed" in text
    assert "Not signed" not in text


def test_without_signatures_nothing_is_claimed(record: dict[str, Any], digest: str) -> None:
    content = certificate_content(record, digest)
    assert content["signed"] == "Not signed"
    assert "Not signed." in said(content)
    assert BOUND not in said(content)


@pytest.mark.parametrize("other", [{"record": "R000002"}, {"digest": "0" * 64}])
def test_a_signature_of_something_else_is_refused(record: dict[str, Any], digest: str, other: dict[str, str]) -> None:
    stranger = signature(**{"digest": digest, **other})
    with pytest.raises(InputError, match="signatures"):
        certificate_content(record, digest, [stranger])
    with pytest.raises(InputError, match="signatures"):
        certificate_pdf(record, digest, signatures=[stranger])


def test_a_name_that_the_fonts_lack_or_that_turns_the_writing_is_shown(
    record: dict[str, Any], digest: str, text_of: ReadText
) -> None:
    text = text_of(
        certificate_pdf(record, digest, signatures=[signature(digest, printed_name="Mara \u202eX #strong[]")])
    )
    assert "Mara [U+202E]X #strong[]" in text


def test_written_again_after_signing_the_signed_one_takes_its_place(
    record: dict[str, Any], digest: str, tmp_path: Path
) -> None:
    unsigned = write_certificate(record, digest, tmp_path).read_bytes()
    path = write_certificate(record, digest, tmp_path, signatures=[signature(digest)])
    assert [file.name for file in tmp_path.iterdir()] == ["R000001.pdf"]
    assert path.read_bytes() == certificate_pdf(record, digest, signatures=[signature(digest)])
    assert path.read_bytes() != unsigned


def test_a_batch_asks_for_the_signatures_of_each_record(record: dict[str, Any], digest: str, tmp_path: Path) -> None:
    many = [(record, digest), ({**record, "id": "R000002"}, digest)]
    signed = {"R000001": [signature(digest)], "R000002": []}
    first, second = certificates(many, tmp_path, signatures_of=signed.__getitem__)
    assert first.read_bytes() == certificate_pdf(record, digest, signatures=signed["R000001"])
    assert second.read_bytes() == certificate_pdf(many[1][0], digest)

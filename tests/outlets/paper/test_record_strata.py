"""The positions of a lot on its certificate: a table of their own, worst first, and none where the lot is one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pymupdf
import pytest
from tests.bench.record.test_lot_strata import CART, judged

from isohume.bench.record.compose import compose
from isohume.outlets.paper.certificate import certificate_pdf
from isohume.outlets.paper.from_record import certificate_content

TITLE = "Positions of the lot"
ISSUED = "2026-09-15T12:00:00+00:00"


def record_of(folder: Path, portions: tuple[str, ...], **more: str) -> dict[str, Any]:
    return compose(judged(folder, portions, **more), "R000001", ISSUED)


def section_of(record: dict[str, Any]) -> dict[str, Any]:
    content = certificate_content(record, "0" * 64)
    return next(part for part in content["sections"] if part["title"] == TITLE)


def cells(section: dict[str, Any]) -> list[list[str]]:
    table = next(block for block in section["blocks"] if block["kind"] == "table")
    return [row["cells"] for row in table["rows"]]


def test_plant_b_each_position_worst_first_and_which_one_decides(tmp_path: Path) -> None:
    """job.md, section 8, plant B: bottom front 0.858 to 0.864 and a composite of 0.812; mean by hand (3.444 / 4)."""
    found = section_of(record_of(tmp_path, CART))
    assert cells(found) == [
        ["bottom front", "0.858, 0.860, 0.862, 0.864", "4", "0.8610", "mean of 4", "yes"],
        ["composite", "0.812", "1", "0.8120", "single portion", ""],
    ]
    assert "the worst one decides, not a mean over them" in json.dumps(found)
    assert "was not read may be worse" in json.dumps(found)


def test_two_places_by_themselves_say_how_far_apart_they_lie(tmp_path: Path) -> None:
    """By hand, s_r 0.002: means 0.837 and 0.841, MS between = 2 (0.004)^2 / 2 = 1.6e-5, F = 1.6e-5 / 4e-6 = 4.00."""
    portions = ("0.836,,,top,", "0.838,,,top,", "0.8405,,,bottom,", "0.8415,,,bottom,")
    found = section_of(record_of(tmp_path, portions))
    assert [row[0] for row in cells(found)] == ["bottom", "top"]
    rows = dict(next(block for block in found["blocks"] if block["kind"] == "pairs")["rows"])
    assert "repeatability 0.0020" in rows["Between positions"]
    assert rows["Do they differ?"].startswith("F = 4.00")
    assert "conform together with a probability of" in rows["All listed places"]


def test_a_lot_judged_as_one_has_none(record: dict[str, Any], digest: str) -> None:
    assert TITLE not in [part["title"] for part in certificate_content(record, digest)["sections"]]


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_it_stands_on_the_paper(tmp_path: Path, paper: str) -> None:
    pdf = certificate_pdf(record_of(tmp_path, CART), "0" * 64, paper)
    words = " ".join(" ".join(page.get_text().split()) for page in pymupdf.open(stream=pdf))
    assert "Positions of the lot" in words
    assert "0.858, 0.860, 0.862, 0.864" in words

"""A demonstration record (invented plant) and readers of the made files, shared by the paper tests."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pymupdf
import pytest

DIGEST = "3f" * 32
RECORD = json.loads((Path(__file__).parent / "record.json").read_text(encoding="utf-8"))


@pytest.fixture
def record() -> dict[str, Any]:
    """A passed lot."""
    return copy.deepcopy(RECORD)


@pytest.fixture
def refused(record: dict[str, Any]) -> dict[str, Any]:
    """A lot that could not be judged: not bracketed above."""
    record["determination"].update(value=None, u=None, reasons=["Limit above the highest passed reference."])
    record["budget"] = None
    record["decision"].update(
        value=None,
        u=None,
        guard_band=None,
        acceptance=[None, None],
        probability_of_conformity=None,
        verdict="no verdict",
        disposition="hold",
        reasons=["Not bracketed above."],
    )
    return record


@pytest.fixture
def digest() -> str:
    return DIGEST


@pytest.fixture
def text_of() -> Callable[[bytes], str]:
    """All words of a PDF with single spaces, as a reader of the page meets them."""

    def read(pdf: bytes) -> str:
        with pymupdf.open(stream=pdf, filetype="pdf") as document:
            return re.sub(r"\s+", " ", " ".join(page.get_text() for page in document))

    return read

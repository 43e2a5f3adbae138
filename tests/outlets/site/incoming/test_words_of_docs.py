"""What these how-to pages print in bold is on a screen."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.outlets.site.test_words_of_docs import words_of_the_screens

DOCS = Path(__file__).parents[4] / "docs" / "how-to"
PAGES = ("receive-a-supplier-lot.md", "bring-the-history.md", "restate-at-another-temperature.md")


@pytest.mark.parametrize("page", PAGES)
def test_bold_words_are_on_a_screen(page: str) -> None:
    screens = words_of_the_screens()
    text = re.sub(r"```.*?```", "", (DOCS / page).read_text(encoding="utf-8"), flags=re.DOTALL)
    bold = [re.sub(r"\s+", " ", found) for found in re.findall(r"\*\*(.+?)\*\*", text, re.DOTALL)]
    assert bold
    said = [words for words in bold if words not in screens and words.removesuffix(" lot") not in screens]
    assert said == []

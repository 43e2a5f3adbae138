"""What the documentation of the site prints in bold is on a screen: a button renamed makes its page fail here."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import isohume.outlets.site as site
from isohume.outlets.site.lots.signing_rules import MEANINGS

DOCS = Path(__file__).parents[3] / "docs"
PAGES = (
    "tutorial/a-shift.md",
    "tutorial/first-isotherm.md",
    "how-to/set-up-the-plant.md",
    "how-to/run-a-shift.md",
    "how-to/review-and-release.md",
    "how-to/read-the-trail.md",
    "how-to/work-without-the-network.md",
    "how-to/sample-a-stratified-lot.md",
    "how-to/compare-instruments.md",
    "how-to/take-part-in-a-proficiency-round.md",
    "how-to/adjust-after-a-failed-check.md",
    "how-to/look-back-after-a-failed-check.md",
    "how-to/keep-reference-bottles.md",
    "how-to/refresh-the-budget.md",
    "how-to/read-a-control-chart.md",
    "how-to/accept-a-captured-run.md",
    "how-to/account-for-every-run.md",
    "how-to/watch-a-run.md",
)
ASIDE = re.compile(r"(?<=\n\n)\*\*[^*]+\.\*\*")  # the bold beginning of a paragraph, not a word of the screen


def words_of_the_screens() -> str:
    """Templates and the words that forms and pages are given, joined where a line of code ends."""
    (root,) = (Path(folder) for folder in site.__path__)
    files = [found for kind in ("html", "py", "js") for found in sorted(root.rglob(f"*.{kind}"))]
    said = " ".join(file.read_text(encoding="utf-8") for file in files)
    button = "Sign ticked records as "
    assert f'p.button("{button}" ~ meaning)' in said  # the one button whose last word is chosen on the page
    return re.sub(r"\s+", " ", " ".join([said, *(button + meaning for meaning in MEANINGS)]))


@pytest.mark.parametrize("page", PAGES)
def test_bold_words_are_on_a_screen(page: str) -> None:
    screens = words_of_the_screens()
    text = ASIDE.sub("", (DOCS / page).read_text(encoding="utf-8"))
    bold = [re.sub(r"\s+", " ", found) for found in re.findall(r"\*\*(.+?)\*\*", text, re.DOTALL)]
    assert len(bold) >= 8
    parts = [(words, part.strip()) for words in bold for part in words.split("…") if part.strip()]
    assert [words for words, part in parts if part not in screens] == []

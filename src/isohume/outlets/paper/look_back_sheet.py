"""The sheet of a look-back as PDF: the hold list to walk through the store with, pictures, window, what to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from isohume.outlets.paper.look_back_bias import draw_bias
from isohume.outlets.paper.look_back_lots import MOST, draw_lots
from isohume.outlets.paper.look_back_spec import LookBackSpec
from isohume.outlets.paper.sheet_frame import PICTURE_FONT, PICTURE_WIDTH, Row, framed_words, set_sheet, table
from isohume.outlets.paper.typesetter import Paper

CAUTION = (
    "Corrected values say what to test again and in which order; they never release a lot. isohume supports, and does "
    "not replace, the process authority, the regulator and the validated method."
)
FAMILY = "Libertinus Serif, serif"
LOTS = (
    "Lot", "Read|right", "Corrected|right", "u|right", "Conforms|right", "Verdict then, now", "State",
    "Stopped by, when|wide",
)  # fmt: skip
ACTS = ("Lot", "Test again|wide", "Left the house|wide")
REFERENCES = ("Reference|wide", "Expected|right", "Read|right", "Deviation|right", "u|right", "Verdict")


@dataclass(frozen=True, slots=True)
class Sheet:
    """Finished texts of a sheet, and what its pictures show; rows of tables are their cells and a note below."""

    name: str
    site: str
    title: str
    at: datetime
    answer: str
    holds: str
    signed: str
    digest: str
    picture: LookBackSpec
    lots: Sequence[Row]
    acts: Sequence[Row]
    references: Sequence[Row]
    window: Sequence[str]
    stands_on: Sequence[tuple[str, str]]


def look_back_pdf(sheet: Sheet, paper: Paper | str = "a4") -> bytes:
    """The sheet as PDF/A-2b, dated as its list.

    sheet: what it says. paper: a4 or us-letter.
    Raises: InputError for another paper or a digest that is none.
    """
    return set_sheet("look_back_sheet.typ", _content(sheet), sheet.digest, sheet.at.astimezone(UTC), paper)


def _content(sheet: Sheet) -> dict[str, Any]:
    own = {
        "window": list(sheet.window),
        "lots": table(LOTS, sheet.lots),
        "acts": table(ACTS, sheet.acts),
        "references": table(REFERENCES, sheet.references),
    }
    more = f", the first {MOST}" if len(sheet.picture.lots) > MOST else ""
    return framed_words(sheet, CAUTION, own) | {
        "lots_picture": draw_lots(sheet.picture, PICTURE_WIDTH, PICTURE_FONT, FAMILY),
        "lots_title": f"Each lot as read and corrected{more}",
        "bias_picture": draw_bias(sheet.picture, PICTURE_WIDTH, PICTURE_FONT, FAMILY),
        "bias_title": "Deviation of each reference against a_w, and the bias between them",
    }

"""The sheet of an isotherm as PDF: the answer, its picture, the models side by side, the points, what it stands on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from isohume.outlets.paper.isotherm_chart import draw_isotherm
from isohume.outlets.paper.isotherm_spec import IsothermSpec
from isohume.outlets.paper.sheet_frame import PICTURE_FONT, PICTURE_WIDTH, Row, framed_words, set_sheet, table
from isohume.outlets.paper.typesetter import Paper, printable

CAUTION = (
    "A moisture limit stands for an a_w limit on this recipe, in this direction and at this temperature only. isohume "
    "supports, and does not replace, the process authority, the regulator and the validated method."
)
MODELS = ("Model", "Parameters|wide", "n|right", "s, kg/kg|right", "MRD, %|right", "AICc|right", "Weight|right")
POINTS = ("Row|right", "a_w|right", "Moisture, kg/kg dry basis|right", "% wet basis|right", "Fitted|right", "|wide")


@dataclass(frozen=True, slots=True)
class Sheet:
    """Finished texts of a sheet, and its picture; rows of tables are their cells and a note below, empty for none."""

    name: str
    site: str
    title: str
    at: datetime
    answer: str
    holds: str
    digest: str
    picture: IsothermSpec
    reasons: Sequence[str]
    models: Sequence[Row]
    points: Sequence[Row]
    stands_on: Sequence[tuple[str, str]]
    facts: Sequence[tuple[str, str]] = ()
    signed: str = "Not kept as the product's isotherm."


def isotherm_pdf(sheet: Sheet, paper: Paper | str = "a4") -> bytes:
    """The sheet as PDF/A-2b, dated as its calculation.

    sheet: what it says. paper: a4 or us-letter.
    Raises: InputError for another paper or a digest that is none.
    """
    return set_sheet("isotherm_sheet.typ", _content(sheet), sheet.digest, sheet.at, paper)


def _content(sheet: Sheet) -> dict[str, Any]:
    own = {
        "reasons": list(sheet.reasons),
        "facts": [list(row) for row in sheet.facts],
        "models": table(MODELS, sheet.models),
        "points": table(POINTS, sheet.points),
    }
    return framed_words(sheet, CAUTION, own) | {
        "picture": draw_isotherm(sheet.picture, PICTURE_WIDTH, PICTURE_FONT),
        "picture_title": printable()(sheet.picture.title),
    }

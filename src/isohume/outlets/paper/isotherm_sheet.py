"""The sheet of an isotherm as PDF: the answer, its picture, the models side by side, the points, what it stands on."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any, get_args

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.certificate import DIGEST, breakable
from isohume.outlets.paper.isotherm_chart import draw_isotherm
from isohume.outlets.paper.isotherm_spec import IsothermSpec
from isohume.outlets.paper.qr import qr_svg, seal
from isohume.outlets.paper.typesetter import Paper, compile_pdf, printable

CAUTION = (
    "A moisture limit stands for an a_w limit on this recipe, in this direction and at this temperature only. isohume "
    "supports, and does not replace, the process authority, the regulator and the validated method."
)
PICTURE_WIDTH, PICTURE_FONT = 470.0, 10.0
Row = tuple[Sequence[str], str]


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
    if paper not in get_args(Paper):
        raise InputError("paper", paper, f"one of {', '.join(get_args(Paper))}")
    if not DIGEST.fullmatch(sheet.digest):
        raise InputError("digest", sheet.digest, "64 lower-case hexadecimal digits of SHA-256")
    inputs = {"content": json.dumps(_content(sheet), ensure_ascii=False), "paper": paper}
    return compile_pdf(_template(), inputs, sheet.at.replace(microsecond=0))


def _content(sheet: Sheet) -> dict[str, Any]:
    words = {
        "name": sheet.name,
        "site": sheet.site,
        "answer": sheet.answer,
        "holds": sheet.holds,
        "signed": sheet.signed,
        "reasons": list(sheet.reasons),
        "facts": [list(row) for row in sheet.facts],
        "stands_on": [list(row) for row in sheet.stands_on],
        "models": _table(MODELS, sheet.models),
        "points": _table(POINTS, sheet.points),
        "caution": CAUTION,
    }
    shown: dict[str, Any] = printable()(words | {"title": sheet.title})
    lines: dict[str, Any] = breakable({name: text for name, text in shown.items() if name != "title"})
    return lines | {
        "title": shown["title"],
        "at": sheet.at.isoformat(timespec="minutes"),
        "digest": sheet.digest,
        "digest_short": f"{sheet.digest[:12]}…",
        "qr": qr_svg(seal(sheet.name, sheet.digest)),
        "picture": draw_isotherm(sheet.picture, PICTURE_WIDTH, PICTURE_FONT),
        "picture_title": printable()(sheet.picture.title),
        "document_title": f"{shown['title']}, {shown['name']}",
        "document_author": shown["site"],
        "document_keywords": [seal(sheet.name, sheet.digest)],
    }


MODELS = ("Model", "Parameters|wide", "n|right", "s, kg/kg|right", "MRD, %|right", "AICc|right", "Weight|right")
POINTS = ("Row|right", "a_w|right", "Moisture, kg/kg dry basis|right", "% wet basis|right", "Fitted|right", "|wide")


def _table(columns: Sequence[str], rows: Sequence[Row]) -> dict[str, Any]:
    split = [column.partition("|") for column in columns]
    return {
        "columns": [{"name": name, "right": how == "right", "wide": how == "wide"} for name, _, how in split],
        "rows": [{"cells": list(cells), "note": note} for cells, note in rows],
    }


@cache
def _template() -> bytes:
    return files(__package__).joinpath("isotherm_sheet.typ").read_bytes()

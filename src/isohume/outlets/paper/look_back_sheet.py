"""The sheet of a look-back as PDF: the hold list to walk through the store with, pictures, window, what to do."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from importlib.resources import files
from typing import Any, get_args

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.certificate import DIGEST, breakable
from isohume.outlets.paper.look_back_bias import draw_bias
from isohume.outlets.paper.look_back_lots import MOST, draw_lots
from isohume.outlets.paper.look_back_spec import LookBackSpec
from isohume.outlets.paper.qr import qr_svg, seal
from isohume.outlets.paper.typesetter import Paper, compile_pdf, printable

CAUTION = (
    "Corrected values say what to test again and in which order; they never release a lot. isohume supports, and does "
    "not replace, the process authority, the regulator and the validated method."
)
WIDTH, FONT, FAMILY = 470.0, 10.0, "Libertinus Serif, serif"
Row = tuple[Sequence[str], str]
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
    if paper not in get_args(Paper):
        raise InputError("paper", paper, f"one of {', '.join(get_args(Paper))}")
    if not DIGEST.fullmatch(sheet.digest):
        raise InputError("digest", sheet.digest, "64 lower-case hexadecimal digits of SHA-256")
    inputs = {"content": json.dumps(_content(sheet), ensure_ascii=False), "paper": paper}
    return compile_pdf(_template(), inputs, sheet.at.astimezone(UTC).replace(microsecond=0))


def _content(sheet: Sheet) -> dict[str, Any]:
    words = {
        "name": sheet.name,
        "site": sheet.site,
        "answer": sheet.answer,
        "holds": sheet.holds,
        "signed": sheet.signed,
        "window": list(sheet.window),
        "stands_on": [list(row) for row in sheet.stands_on],
        "lots": _table(LOTS, sheet.lots),
        "acts": _table(ACTS, sheet.acts),
        "references": _table(REFERENCES, sheet.references),
        "caution": CAUTION,
    }
    shown: dict[str, Any] = printable()(words | {"title": sheet.title})
    lines: dict[str, Any] = breakable({name: text for name, text in shown.items() if name != "title"})
    more = f", the first {MOST}" if len(sheet.picture.lots) > MOST else ""
    return lines | {
        "title": shown["title"],
        "at": sheet.at.isoformat(timespec="minutes"),
        "digest": sheet.digest,
        "digest_short": f"{sheet.digest[:12]}…",
        "qr": qr_svg(seal(sheet.name, sheet.digest)),
        "lots_picture": draw_lots(sheet.picture, WIDTH, FONT, FAMILY),
        "lots_title": f"Each lot as read and corrected{more}",
        "bias_picture": draw_bias(sheet.picture, WIDTH, FONT, FAMILY),
        "bias_title": "Deviation of each reference against a_w, and the bias between them",
        "document_title": f"{shown['title']}, {shown['name']}",
        "document_author": shown["site"],
        "document_keywords": [seal(sheet.name, sheet.digest)],
    }


def _table(columns: Sequence[str], rows: Sequence[Row]) -> dict[str, Any]:
    split = [column.partition("|") for column in columns]
    return {
        "columns": [{"name": name, "right": how == "right", "wide": how == "wide"} for name, _, how in split],
        "rows": [{"cells": list(cells), "note": note} for cells, note in rows],
    }


@cache
def _template() -> bytes:
    return files(__package__).joinpath("look_back_sheet.typ").read_bytes()

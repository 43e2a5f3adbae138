"""What every sheet has: paper, digest and seal, printable words, tables whose columns say how they stand."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any, Protocol, get_args

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.certificate import DIGEST, breakable
from isohume.outlets.paper.qr import qr_svg, seal
from isohume.outlets.paper.typesetter import Paper, compile_pdf, printable

PICTURE_WIDTH, PICTURE_FONT = 470.0, 10.0
Row = tuple[Sequence[str], str]


class Sheet(Protocol):
    """The finished texts that every sheet has."""

    @property
    def name(self) -> str:
        """What is sealed."""

    @property
    def site(self) -> str:
        """Whose sheet it is."""

    @property
    def title(self) -> str:
        """What stands on top."""

    @property
    def at(self) -> datetime:
        """When what it says was made."""

    @property
    def answer(self) -> str:
        """The answer, first."""

    @property
    def holds(self) -> str:
        """Where it holds."""

    @property
    def signed(self) -> str:
        """Who stands for it."""

    @property
    def digest(self) -> str:
        """The digest of what it rests on."""

    @property
    def stands_on(self) -> Sequence[tuple[str, str]]:
        """What it rests on, by name."""


def set_sheet(template: str, content: Mapping[str, Any], digest: str, at: datetime, paper: Paper | str) -> bytes:
    """A sheet as PDF/A-2b.

    template: the name of its layout, a file of this package. at: the date in the document.
    Raises: InputError for another paper or a digest that is none.
    """
    if paper not in get_args(Paper):
        raise InputError("paper", paper, f"one of {', '.join(get_args(Paper))}")
    if not DIGEST.fullmatch(digest):
        raise InputError("digest", digest, "64 lower-case hexadecimal digits of SHA-256")
    inputs = {"content": json.dumps(content, ensure_ascii=False), "paper": paper}
    return compile_pdf(_template(template), inputs, at.replace(microsecond=0))


def framed_words(sheet: Sheet, caution: str, own: Mapping[str, Any]) -> dict[str, Any]:
    """The words of a sheet as they can be printed and broken, its own ones among them, with seal and document data."""
    words = {
        "name": sheet.name,
        "site": sheet.site,
        "answer": sheet.answer,
        "holds": sheet.holds,
        "signed": sheet.signed,
        "stands_on": [list(row) for row in sheet.stands_on],
        **own,
        "caution": caution,
    }
    shown: dict[str, Any] = printable()(words | {"title": sheet.title})
    lines: dict[str, Any] = breakable({name: text for name, text in shown.items() if name != "title"})
    return lines | {
        "title": shown["title"],
        "at": sheet.at.isoformat(timespec="minutes"),
        "digest": sheet.digest,
        "digest_short": f"{sheet.digest[:12]}…",
        "qr": qr_svg(seal(sheet.name, sheet.digest)),
        "document_title": f"{shown['title']}, {shown['name']}",
        "document_author": shown["site"],
        "document_keywords": [seal(sheet.name, sheet.digest)],
    }


def table(columns: Sequence[str], rows: Sequence[Row]) -> dict[str, Any]:
    """A table as the layouts take it; `Read|right` is a column of numbers, `Models|wide` takes the room left."""
    split = [column.partition("|") for column in columns]
    return {
        "columns": [{"name": name, "right": how == "right", "wide": how == "wide"} for name, _, how in split],
        "rows": [{"cells": list(cells), "note": note} for cells, note in rows],
    }


@cache
def _template(name: str) -> bytes:
    return files(__package__).joinpath(name).read_bytes()

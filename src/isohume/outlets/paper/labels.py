"""Scan labels for cups and bags: a sheet of 3 x 8 with cut lines, each with its QR mark and its words."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, get_args

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.atomic_file import write_whole
from isohume.outlets.paper.certificate import breakable
from isohume.outlets.paper.qr import qr_svg
from isohume.outlets.paper.typesetter import Paper, compile_pdf, printable

A_SHEET = 3 * 8
MOST_LABELS = 40 * A_SHEET
"""A slip of the finger should not print a ream."""
CODE = re.compile(r"[!-~]{1,60}")
LONGEST_TEXT = 60
MOST_LINES = 4


@dataclass(frozen=True, slots=True)
class Label:
    """One label: the code a scanner reads, such as iso:p:123, a title, and up to four lines for people."""

    code: str
    title: str
    lines: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not CODE.fullmatch(self.code):
            raise InputError("code", self.code, "1 to 60 letters, digits or signs a scanner types, no spaces")
        if len(self.lines) > MOST_LINES:
            raise InputError("lines", f"{len(self.lines)} lines", f"at most {MOST_LINES} lines on a label")

    @classmethod
    def of(cls, given: Mapping[str, Any]) -> Label:
        """A label from the argument of a job: code, title, lines."""
        return cls(str(given["code"]), str(given["title"]), tuple(map(str, given.get("lines", ()))))


def write_labels(labels: Sequence[Label | Mapping[str, Any]], path: Path, paper: Paper | str = "a4") -> Path:
    """Write a sheet of labels, or as many sheets as they need, whole or not at all.

    labels: the labels in their order, row by row; also as mappings of code, title and lines.
    path: where the PDF goes; its folder is made where it is not there.
    paper: a4 or us-letter.
    Returns: the file's place.
    Raises: InputError for no label, more than 40 sheets, a code no scanner types, or another paper.
    """
    return write_whole(Path(path), labels_pdf(labels, paper))


def labels_pdf(labels: Sequence[Label | Mapping[str, Any]], paper: Paper | str = "a4") -> bytes:
    """The sheets of labels as PDF, black and white."""
    if paper not in get_args(Paper):
        raise InputError("paper", paper, f"one of {', '.join(get_args(Paper))}")
    if not 1 <= len(labels) <= MOST_LABELS:
        raise InputError("labels", len(labels), f"1 to {MOST_LABELS} labels")
    made = [label if isinstance(label, Label) else Label.of(label) for label in labels]
    content = json.dumps({"labels": list(map(_shown, made))}, ensure_ascii=False)
    return compile_pdf(_template(), {"content": content, "paper": paper}, None)


def _shown(label: Label) -> dict[str, Any]:
    """A label as the template sets it: only characters the fonts have, long texts cut short with a mark."""
    words = printable()({"title": label.title, "lines": list(label.lines)})
    return {
        "code": label.code,
        "code_shown": breakable(label.code),
        "qr": qr_svg(label.code),
        "title": breakable(_short(words["title"])),
        "lines": [breakable(_short(line)) for line in words["lines"]],
    }


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_TEXT else f"{text[: LONGEST_TEXT - 1]}…"


@cache
def _template() -> bytes:
    return files(__package__).joinpath("labels.typ").read_bytes()

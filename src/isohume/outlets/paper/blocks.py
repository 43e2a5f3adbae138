"""The few kinds of block a certificate is set from; the template decides how they look."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

Block = dict[str, Any]

# A block is kept on one page only while it is small enough that it cannot outgrow a page.
KEPT_CHARACTERS = 1800
KEPT_ROWS = 20


def section(title: str, *blocks: Block | None) -> Block:
    """A titled part of the certificate; blocks that are None are left out."""
    kept = [block for block in blocks if block]
    for block, following in zip(kept, [*kept[1:], {"kind": ""}], strict=True):
        if block["kind"] == "text":
            block["leads"] = following["kind"] == "table"
    return {"title": title, "blocks": kept}


def text(words: str) -> Block | None:
    """A paragraph; None where there is nothing to say."""
    return {"kind": "text", "text": words, "leads": False} if words else None


def pairs(rows: Iterable[Sequence[str]]) -> Block:
    """Names with their values."""
    listed = [list(row) for row in rows]
    return {"kind": "pairs", "rows": listed, "keep": _small(listed)}


def table(columns: Sequence[str], rows: Iterable[tuple[Sequence[str], str]]) -> Block:
    """A table. A column is "name" or "name|right" (figures) or "name|wide" (takes what room is left).

    Each row comes with a note, printed on a line of its own below the row; empty for none.
    """
    split = [column.partition("|") for column in columns]
    kept = list(rows)
    return {
        "kind": "table",
        "columns": [
            {"name": name, "align": "right" if how == "right" else "left", "wide": how == "wide"}
            for name, _, how in split
        ],
        "rows": [{"cells": list(cells), "note": note} for cells, note in kept],
        "keep": _small([[*cells, note] for cells, note in kept]),
    }


def _small(rows: Sequence[Sequence[str]]) -> bool:
    return len(rows) <= KEPT_ROWS and sum(len(cell) for row in rows for cell in row) <= KEPT_CHARACTERS

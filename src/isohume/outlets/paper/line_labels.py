"""Where the words of an a_w line go: in rows, never over each other, never outside the picture.

Each label belongs to a mark at `anchor`; a thin leader joins the two. Words stand to the right of their
leader like a flag, to the left where the picture ends, in the first row that is free. Rows count away from
the line. Widths are estimated generously, since the page's font is not known here.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations

from isohume.outlets.paper.line_marks import printable

GAP = 5.0  # least air between two labels in one row
CLEAR = 3.0  # air between a leader and its own words
FEW = 4  # so many labels are tried in every order


@dataclass(frozen=True, slots=True)
class Label:
    """Words that belong to the mark at `anchor` (in the picture's units)."""

    anchor: float
    text: str
    bold: bool = False


Turn = tuple[Label, bool]


@dataclass(frozen=True, slots=True)
class Placed:
    """A label with its row and the box its words fill."""

    label: Label
    row: int
    left: float
    right: float
    text: str


def place(labels: Sequence[Label], width: float, font_size: float) -> tuple[Placed, ...]:
    """Give every label a row and a place inside 0 to `width`, so that leaders rarely run behind words.

    Tried are: from the outside in with flags outwards, from the right with flags to the right, from the left
    with flags to the left, and for a few labels every order. The fewest crossings win, then the fewest rows.
    """
    best: tuple[Placed, ...] = ()
    least: tuple[int, int] | None = None
    for turns in _ways(labels):
        done = _filled(turns, width, font_size)
        cost = (_all_crossings(done), max(p.row for p in done))
        if least is None or cost < least:
            best, least = done, cost
        if least[0] == 0:
            break
    return best


def _ways(labels: Sequence[Label]) -> Iterator[list[Turn]]:
    """Orders in which to place the labels, each label with the side its flag should go to."""
    if not labels:
        return
    ordered = sorted(labels, key=lambda label: (label.anchor, label.text))
    middle = ordered[len(ordered) // 2].anchor
    outwards = sorted(ordered, key=lambda label: -abs(label.anchor - middle))
    yield [(label, label.anchor >= middle) for label in outwards]
    yield [(label, True) for label in reversed(ordered)]
    yield [(label, False) for label in ordered]
    if len(ordered) <= FEW:
        for order in permutations(ordered):
            yield [(label, True) for label in order]
            yield [(label, False) for label in order]


def _filled(turns: list[Turn], width: float, font_size: float) -> tuple[Placed, ...]:
    """All labels placed, one after the other."""
    done: list[Placed] = []
    for label, flag_right in turns:
        text = shortened(printable(label.text), width, font_size, label.bold)
        size = text_width(text, font_size, label.bold)
        done.append(_best(label, text, _lefts(label.anchor, size, width, flag_right), size, done))
    return tuple(done)


def _best(label: Label, text: str, lefts: tuple[float, ...], size: float, done: list[Placed]) -> Placed:
    """The lowest row where the words are free, preferring one where no leader runs behind words."""
    rows = max((p.row for p in done), default=-1) + 2
    candidates = [
        (_crossings(option, done), row, order, option)
        for row in range(rows)
        for order, left in enumerate(lefts)
        if _free(option := Placed(label, row, left, left + size, text), done)
    ]
    return min(candidates, key=lambda item: item[:3])[3]


def _lefts(anchor: float, size: float, width: float, flag_right: bool) -> tuple[float, ...]:
    """The left ends to try: the wanted flag, the other one, or pushed inside the picture."""
    flags = [anchor + CLEAR, anchor - CLEAR - size]
    fitting = [left for left in (flags if flag_right else flags[::-1]) if left >= 0 and left + size <= width]
    inside = min(max(anchor - size / 2, 0.0), max(width - size, 0.0))
    return (*fitting, inside)


def _free(option: Placed, done: list[Placed]) -> bool:
    return all(
        option.left >= other.right + GAP or option.right + GAP <= other.left
        for other in done
        if other.row == option.row
    )


def _crossings(option: Placed, done: list[Placed]) -> int:
    """How often a leader would run behind words if the option were taken."""
    count = 0
    for other in done:
        if other.row < option.row:
            count += other.left - 1 <= option.label.anchor <= other.right + 1
        elif other.row > option.row:
            count += option.left - 1 <= other.label.anchor <= option.right + 1
    return count


def _all_crossings(done: tuple[Placed, ...]) -> int:
    return sum(_crossings(p, list(done[:i])) for i, p in enumerate(done))


def text_width(text: str, font_size: float, bold: bool = False) -> float:
    """A generous estimate of how wide a text runs, in the unit of the font size."""
    return font_size * sum(map(_advance, text)) * (1.07 if bold else 1.0)


def _advance(character: str) -> float:
    if unicodedata.east_asian_width(character) in "WF":
        return 1.05
    if character in "mwMW@%—":
        return 0.9
    if character in " .,:;'|!il()[]":
        return 0.32
    if character.isupper():
        return 0.72
    return 0.53 if character.isascii() else 0.68


def shortened(text: str, width: float, font_size: float, bold: bool = False) -> str:
    """The text, cut with an ellipsis where the picture is narrower than the text; the table has it whole."""
    if text_width(text, font_size, bold) <= width:
        return text
    kept = text
    while kept and text_width(kept + "…", font_size, bold) > width:
        kept = kept[:-1]
    return kept + "…"

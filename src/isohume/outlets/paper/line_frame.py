"""What every drawing has around it: the key that says what its shapes mean, and the SVG element."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_labels import text_width

ROW = 1.4  # height of a row of words, in font sizes

KeyItem = tuple[Callable[[float, float], str], str]


def key_rows(items: Sequence[KeyItem], width: float, top: float, size: float, family: str) -> tuple[list[str], float]:
    """The key below the picture, as many rows as it needs."""
    parts: list[str] = []
    x, y = 2.0, top
    for shape, text in items:
        run = 18 + text_width(text, size) + 8
        if x > 2.0 and x + run > width:
            x, y = 2.0, y + ROW * size
        parts += [shape(x + 7, y), marks.words(x + 18, y + size * 0.32, text, size, family)]
        x += run
    return parts, y + size * 0.8


def framed(title: str, width: float, height: float, parts: Sequence[str]) -> str:
    """The parts as one SVG text with its title."""
    box = f"{marks.number(width)} {marks.number(height)}"
    wide, high = box.split()
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {box}" width="{wide}" height="{high}" '
        'role="img">'
        f"<title>{escape(marks.printable(title))}</title>" + "".join(parts) + "</svg>"
    )

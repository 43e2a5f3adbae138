"""The marks of the a_w line as SVG: each mark is told from the others by its shape, never by colour.

ring = where a reference should be, dot = where it read; wall with strokes = a limit, strokes on the side that
is not allowed; fine hatching = the guard band; lozenge on a bar = a result with its interval; short bar = a
reading that counts; small circle = a reading that does not; open lozenge = where a waiting sample is expected;
thick line = where the instrument may speak; with several instruments a bar for each, dashed where it may not
measure now.
"""

from __future__ import annotations

from html import escape

INK = "#16181a"
FAINT = "#6b7075"
PAPER = "#ffffff"


def number(value: float) -> str:
    """A coordinate as it is written: two decimals at most, no negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def line(x1: float, y1: float, x2: float, y2: float, width: float = 1.0, ink: str = INK, dash: str = "") -> str:
    """A straight stroke, dashed where `dash` says so."""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}" '
        f'stroke="{ink}" stroke-width="{number(width)}"{dashes}/>'
    )


def words(x: float, y: float, text: str, size: float, family: str, anchor: str = "start", bold: bool = False) -> str:
    """A text whose characters are escaped and free of control characters."""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-family="{escape(family)}" font-size="{number(size)}" '
        f'text-anchor="{anchor}" fill="{INK}"{weight}>{escape(printable(text))}</text>'
    )


def printable(text: str) -> str:
    """The text with every control character shown as a replacement mark, so that the SVG is well formed."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)


def plate(x: float, y: float, width: float, height: float) -> str:
    """A piece of paper behind words, so that a leader running behind them does not strike them out."""
    size = f'width="{number(width)}" height="{number(height)}"'
    return f'<rect x="{number(x)}" y="{number(y)}" {size} fill="{PAPER}"/>'


def ring(x: float, y: float) -> str:
    """Where a reference should be."""
    return (
        f'<circle class="expected" cx="{number(x)}" cy="{number(y)}" r="5" fill="{PAPER}" stroke="{INK}" '
        'stroke-width="1.2"/>'
    )


def dot(x: float, y: float) -> str:
    """Where a reference read."""
    return f'<circle class="read" cx="{number(x)}" cy="{number(y)}" r="2" fill="{INK}"/>'


def wall(x: float, top: float, bottom: float, forbidden_right: bool) -> str:
    """A limit: a heavy pole with strokes on the side that is not allowed."""
    side = 5.0 if forbidden_right else -5.0
    strokes = [line(x, top, x, bottom, 2.2)]
    y = top + 1
    while y + 5 <= bottom:
        strokes.append(line(x, y + 5, x + side, y, 1.1))
        y += 5
    return '<g class="limit">' + "".join(strokes) + "</g>"


def hatching(left: float, right: float, top: float, bottom: float) -> str:
    """The guard band: fine slanting strokes, cut at the sides of the band."""
    height = bottom - top
    strokes = []
    start = left - height + 3.0
    while start < right:
        x1, x2 = max(start, left), min(start + height, right)
        if x2 > x1:
            strokes.append(line(x1, bottom - (x1 - start), x2, bottom - (x2 - start), 0.5, FAINT))
        start += 3.0
    return '<g class="guard">' + "".join(strokes) + "</g>"


def lozenge(x: float, y: float) -> str:
    """A result."""
    points = f"{number(x)},{number(y - 5.5)} {number(x + 4)},{number(y)} {number(x)},{number(y + 5.5)}"
    return f'<polygon class="result" points="{points} {number(x - 4)},{number(y)}" fill="{INK}"/>'


def waiting(x: float, y: float) -> str:
    """Where a waiting sample is expected."""
    points = f"{number(x)},{number(y - 5.5)} {number(x + 4)},{number(y)} {number(x)},{number(y + 5.5)}"
    return (
        f'<polygon class="waiting" points="{points} {number(x - 4)},{number(y)}" fill="{PAPER}" stroke="{INK}" '
        'stroke-width="1.2"/>'
    )


def span(left: float, right: float, y: float, may_measure: bool, open_left: bool, open_right: bool) -> str:
    """An instrument's range: a bar with its ends, dashed where the instrument may not measure now."""
    strokes = [line(left, y, right, y, 3.4) if may_measure else line(left, y, right, y, 1.2, dash="4 3")]
    strokes += [] if open_left else [line(left, y - 4, left, y + 4, 1.4)]
    strokes += [] if open_right else [line(right, y - 4, right, y + 4, 1.4)]
    return f'<g class="{"range" if may_measure else "range-stopped"}">' + "".join(strokes) + "</g>"


def interval(left: float, right: float, y: float, open_left: bool, open_right: bool) -> str:
    """The interval of a result; an end beyond the picture has no cap."""
    caps = [line(left, y, right, y, 1.4)]
    caps += [] if open_left else [line(left, y - 4, left, y + 4, 1.4)]
    caps += [] if open_right else [line(right, y - 4, right, y + 4, 1.4)]
    return '<g class="interval">' + "".join(caps) + "</g>"


def reading(x: float, y: float) -> str:
    """A reading that counts."""
    return f'<g class="reading">{line(x, y - 4, x, y + 4, 2.0)}</g>'


def unused(x: float, y: float) -> str:
    """A reading that is shown and does not count."""
    return (
        f'<circle class="unused" cx="{number(x)}" cy="{number(y)}" r="2.2" fill="{PAPER}" stroke="{INK}" '
        'stroke-width="0.9"/>'
    )

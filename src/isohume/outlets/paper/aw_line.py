"""The a_w line, isohume's one recurring picture: a line specification becomes one SVG text.

The picture is the same for the same specification, uses no outside font or file, and is read without
colour: every mark has its own shape, its words and a key. `line_table` gives the same marks as rows.
"""

from __future__ import annotations

from html import escape

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import ROW, framed, key_rows
from isohume.outlets.paper.line_labels import Placed, place
from isohume.outlets.paper.line_ranges import range_bars
from isohume.outlets.paper.line_spec import LineSpec
from isohume.outlets.paper.line_strip import Strip, axis, height, limit_marks, reference_marks, value_marks
from isohume.outlets.paper.line_words import decision_labels, key, reference_labels

WIDTH = 420.0
FONT_SIZE = 9.5
FAMILY = "Libertinus Serif, serif"
LEFT, RIGHT = 26.0, 14.0  # room for the axis name, and for half a tick number
FUNNEL = 24.0


def draw_line(spec: LineSpec, width: float = WIDTH, font_size: float = FONT_SIZE, family: str = FAMILY) -> str:
    """The a_w line as one SVG text, `width` units wide and as high as its words need."""
    row = ROW * font_size
    lift = height(spec.values, spec.window)
    bare = Strip(spec.window, LEFT, width - RIGHT, 0.0)
    above = place(decision_labels(bare, spec), width, font_size)
    rows_above = max((p.row for p in above), default=-1) + 1
    main = Strip(spec.window, LEFT, width - RIGHT, 2 + rows_above * row + lift)
    parts = _main(main, spec, above, lift, font_size, family)
    bottom = main.y + 9 + font_size * 1.3
    bars, bottom = range_bars(main, spec, bottom, font_size, family)
    parts = bars + parts
    whole = main
    if spec.overview is not None:
        whole = Strip(spec.overview, LEFT, width - RIGHT, bottom + FUNNEL + 6)
        parts += _overview(main, whole, spec, bottom, font_size, family)
        bottom = whole.y + 9 + font_size * 1.3
    parts, bottom = _references(whole, spec, parts, bottom + 4, (width, font_size), family)
    more, bottom = key_rows(key(spec), width, bottom + font_size * 0.9, font_size, family)
    return framed(spec.title, width, bottom, parts + more)


def _main(strip: Strip, spec: LineSpec, labels: tuple[Placed, ...], lift: float, size: float, family: str) -> list[str]:
    """The line itself with what lies in its window; what was measured and asked, in words above."""
    ceiling = strip.y - lift
    parts = [_leader(p, ceiling - p.row * ROW * size - 2, strip.y - 4) for p in labels]
    parts += limit_marks(strip, spec.limits, ceiling)
    parts += axis(strip, spec, size, family)
    parts.append(_axis_name(strip, size, family))
    parts += value_marks(strip, spec.values)
    for p in labels:
        parts += _on_plate(p, ceiling - p.row * ROW * size - 3, size, family)
    return parts + (reference_marks(strip, spec) if spec.overview else [])


def _overview(main: Strip, whole: Strip, spec: LineSpec, top: float, size: float, family: str) -> list[str]:
    """The whole stretch on a second line, with the main line's window marked on it."""
    low, high = whole.inside(spec.window.low), whole.inside(spec.window.high)
    parts = [
        marks.line(main.left, top, low, whole.y - 9, 0.6, marks.FAINT, "3 2"),
        marks.line(main.right, top, high, whole.y - 9, 0.6, marks.FAINT, "3 2"),
    ]
    parts += axis(whole, spec, size, family)
    parts.append(_axis_name(whole, size, family))
    parts += [marks.line(x, whole.y - 8, x, whole.y, 1.6) for x in (whole.x(m.value) for m in spec.limits)]
    box = (
        f'<rect class="window" x="{marks.number(low)}" y="{marks.number(whole.y - 9)}" '
        f'width="{marks.number(high - low)}" height="18" fill="none" '
        f'stroke="{marks.INK}" stroke-width="0.8"/>'
    )
    return [*parts, box]


def _references(
    strip: Strip, spec: LineSpec, parts: list[str], top: float, sizes: tuple[float, float], family: str
) -> tuple[list[str], float]:
    """The references on the widest line of the picture, their words below it."""
    width, size = sizes
    labels = place(reference_labels(strip, spec), width, size)
    leaders = [_leader(p, strip.y + 6, top + (p.row * ROW + 0.3) * size) for p in labels]
    drawn: list[str] = []
    for p in labels:
        drawn += _on_plate(p, top + (p.row * ROW + 0.9) * size, size, family)
    rows = max((p.row for p in labels), default=-1) + 1
    return [*leaders, *parts, *reference_marks(strip, spec), *drawn], top + rows * ROW * size


def _leader(placed: Placed, y1: float, y2: float) -> str:
    return marks.line(placed.label.anchor, y1, placed.label.anchor, y2, 0.5, marks.FAINT)


def _on_plate(placed: Placed, baseline: float, size: float, family: str) -> list[str]:
    """The words of a label, on a plate so that nothing strikes them out."""
    left, right, anchor = placed.left, placed.right, placed.label.anchor
    side, x = ("end", right) if right <= anchor else ("start", left)
    drawn = marks.words(x, baseline, placed.text, size, family, side, placed.label.bold)
    return [marks.plate(left, baseline - size * 0.85, right - left, size * 1.15), drawn]


def _axis_name(strip: Strip, size: float, family: str) -> str:
    """The quantity's symbol before the line: a, slanted, with its index."""
    return (
        f'<text x="2" y="{marks.number(strip.y + size * 0.3)}" font-family="{escape(family)}" '
        f'font-size="{marks.number(size * 1.15)}" fill="{marks.INK}"><tspan font-style="italic">a</tspan>'
        f'<tspan font-size="{marks.number(size * 0.8)}" dy="{marks.number(size * 0.22)}">w</tspan></text>'
    )

"""Several instruments on one a_w line: a bar for each range below the line, its words above the bar.

A faint thread runs down from each waiting sample through the bars, so that the eye sees which instrument reaches it.
"""

from __future__ import annotations

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_labels import shortened, text_width
from isohume.outlets.paper.line_spec import LineSpec
from isohume.outlets.paper.line_strip import Strip
from isohume.outlets.paper.line_words import range_words

ROW = 2.2  # height of one instrument's words and bar, in font sizes


def range_bars(strip: Strip, spec: LineSpec, top: float, font_size: float, family: str) -> tuple[list[str], float]:
    """The bars below `top` and where they end; nothing where the specification has no ranges."""
    if not spec.ranges:
        return [], top
    numbers_end, top = top, top + 0.6 * font_size
    bottom = top + len(spec.ranges) * ROW * font_size + 4
    out = [
        marks.line(strip.x(v.value), numbers_end, strip.x(v.value), bottom, 0.5, marks.FAINT, "1.5 2.5")
        for v in spec.values
        if v.kind == "expected" and strip.window.holds(v.value)
    ]
    for row, instrument in enumerate(spec.ranges):
        low, high = strip.inside(instrument.low), strip.inside(instrument.high)
        y = top + row * ROW * font_size + font_size * 1.75
        text = shortened(range_words(instrument), strip.right - strip.left, font_size)
        wide = text_width(text, font_size)
        left = max(strip.left, min(low, strip.right - wide))
        out.append(marks.plate(left - 1, y - font_size * 1.65, wide + 2, font_size * 1.15))
        out.append(marks.words(left, y - font_size * 0.75, text, font_size, family))
        window = strip.window
        ends = (instrument.low < window.low, instrument.high > window.high)
        out.append(marks.span(low, high, y, instrument.may_measure, *ends))
    return out, bottom

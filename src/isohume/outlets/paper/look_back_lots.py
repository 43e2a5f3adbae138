"""The lots of a look-back, worst first: each on its own a_w line as read and corrected, under one scale.

short bar = as read; lozenge on a bar = corrected, with its interval U = 2 u; wall with strokes = a limit; fine
hatching = the guard band.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import ROW, KeyItem, framed, key_rows
from isohume.outlets.paper.line_labels import shortened, text_width
from isohume.outlets.paper.line_spec import Window
from isohume.outlets.paper.line_ticks import ticks
from isohume.outlets.paper.look_back_spec import LookBackSpec, LotMark

MOST = 40
HIGH = 2.0  # of a lot's line, in font sizes
WIDEST_NAME = 0.28  # of the whole width
AIR = 0.06


def draw_lots(spec: LookBackSpec, width: float, size: float, family: str) -> str:
    """The first forty lots as one SVG text; more stand in the table."""
    lots = spec.lots[:MOST]
    window = _window(lots)
    left = 8 + min(max((text_width(lot.name, size) for lot in lots), default=0.0), WIDEST_NAME * width)
    right = width - 6

    def x(a_w: float) -> float:
        return left + (min(max(a_w, window.low), window.high) - window.low) / window.width * (right - left)

    top = 1.8 * size
    parts = [marks.words(0, size, "a_w", size, family)]
    bottom = top + len(lots) * HIGH * size
    most = max(2, int((right - left) / (4.5 * size)))
    for tick in ticks(window, most):
        if tick.text:
            parts.append(marks.line(x(tick.a_w), top - 4, x(tick.a_w), bottom, 0.5, marks.FAINT, "1.5 2.5"))
            parts.append(marks.words(x(tick.a_w), size, tick.text, size, family, "middle"))
    for k, lot in enumerate(lots):
        y = top + (k + 0.5) * HIGH * size
        parts.append(marks.words(0, y + size * 0.33, shortened(lot.name, left - 8, size), size, family))
        parts += _line_of(lot, y, 0.5 * HIGH * size - 1, x, (left, right))
    more, end = key_rows(_key(lots), width, bottom + 1.1 * ROW * size, size, family)
    return framed(f"{spec.title}: as read and corrected", width, end, parts + more)


def _line_of(lot: LotMark, y: float, half: float, x: Callable[[float], float], span: tuple[float, float]) -> list[str]:
    out = [marks.line(span[0], y, span[1], y, 0.6, marks.FAINT)]
    for limit, acceptance, is_upper in (
        (lot.lower, lot.lower_acceptance, False),
        (lot.upper, lot.upper_acceptance, True),
    ):
        if limit is None:
            continue
        if acceptance is not None:
            ends = sorted((x(limit), x(acceptance)))
            out.append(marks.hatching(ends[0], ends[1], y - half * 0.6, y + half * 0.6))
        out.append(marks.wall(x(limit), y - half, y + half, is_upper))
    out.append(marks.line(x(lot.read), y, x(lot.corrected), y, 1.0, dash="2 2"))
    out.append(marks.interval(x(lot.corrected - lot.half_width), x(lot.corrected + lot.half_width), y, False, False))
    return [*out, marks.reading(x(lot.read), y), marks.lozenge(x(lot.corrected), y)]


def _window(lots: Sequence[LotMark]) -> Window:
    """From the lowest to the highest of what stands on the lines; limits only where they are near."""
    if not lots:
        return Window(0.0, 1.0)
    ends = [v for lot in lots for v in (lot.read, lot.corrected - lot.half_width, lot.corrected + lot.half_width)]
    low, high = min(ends), max(ends)
    near = max(high - low, 0.02)
    for limit in (value for lot in lots for value in (lot.lower, lot.upper) if value is not None):
        if low - near <= limit <= high + near:
            low, high = min(low, limit), max(high, limit)
    air = AIR * max(high - low, 0.02)
    return Window(max(low - air, 0.0), min(high + air, 1.2))


def _key(lots: Sequence[LotMark]) -> list[KeyItem]:
    out: list[KeyItem] = [(marks.reading, "as read"), (marks.lozenge, "corrected, on its interval U = 2 u")]
    if any(lot.lower is not None or lot.upper is not None for lot in lots):
        out.append((lambda a, y: marks.wall(a, y - 6, y + 6, True), "limit, strokes on the side not allowed"))
        out.append((lambda a, y: marks.hatching(a - 7, a + 7, y - 4, y + 4), "guard band"))
    return out


def lots_table(spec: LookBackSpec) -> tuple[tuple[str, ...], ...]:
    """The same as rows: lot, as read, corrected, from and to, said of it."""
    return tuple(
        (
            lot.name,
            f"{lot.read:.4f}",
            f"{lot.corrected:.4f}",
            f"{lot.corrected - lot.half_width:.4f} to {lot.corrected + lot.half_width:.4f}",
            lot.words,
        )
        for lot in spec.lots
    )

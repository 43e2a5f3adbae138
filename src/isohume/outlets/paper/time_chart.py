"""Deviations against time as one SVG text, in the manner of the a_w line: shapes and words, no colour needed.

dot = within, cross = beyond, small open circle = void; wall with strokes = a limit, strokes on the side that is
not allowed; dashed upright = a dated event, named above; the thin thread joins what may be compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import ROW, KeyItem, framed, key_rows
from isohume.outlets.paper.line_labels import Label, Placed, place, text_width
from isohume.outlets.paper.time_spec import TimeBreak, TimeLimits, TimePoint
from isohume.outlets.paper.time_ticks import time_ticks, value_ticks

WIDTH = 420.0
FONT_SIZE = 9.5
FAMILY = "Libertinus Serif, serif"
TALL = 120.0  # height of the field in which the points stand
STROKE = 5.0
RIGHT = 8.0


@dataclass(frozen=True, slots=True)
class Field:
    """The field of the chart: a span of time and a span of deviation on a rectangle."""

    first: datetime
    last: datetime
    low: float
    high: float
    left: float
    right: float
    top: float

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + TALL

    def x(self, at: datetime) -> float:
        """Where a moment stands."""
        return self.left + (at - self.first) / (self.last - self.first) * (self.right - self.left)

    def y(self, value: float) -> float:
        """Where a deviation stands."""
        return self.bottom - (value - self.low) / (self.high - self.low) * TALL


def draw_time_chart(
    points: Sequence[TimePoint],
    *,
    centre: float | None,
    limits: TimeLimits,
    title: str,
    unit: str,
    breaks: Sequence[TimeBreak] = (),
    width: float = WIDTH,
    font_size: float = FONT_SIZE,
    family: str = FAMILY,
) -> str:
    """Deviations against time as one SVG text, `width` units wide and as high as its words need."""
    first, last = _span(points, breaks)
    low, high = _reach(points, centre, limits)
    left = 10 + max(text_width(text, font_size) for _, text in value_ticks(low, high))
    bare = Field(first, last, low, high, left, width - RIGHT, 0.0)
    names = place([Label(bare.x(b.at), b.words) for b in breaks], width, font_size)
    rows = 1 + max((p.row for p in names), default=-1)
    field = Field(first, last, low, high, left, width - RIGHT, 4 + (rows + 1.2) * ROW * font_size)
    parts = [marks.words(0, font_size, f"deviation, {unit}", font_size, family)]
    parts += _breaks(field, names, font_size, family)
    parts += _frame(field, centre, limits, font_size, family)
    parts += _thread(field, points, breaks) + [_point(field, p) for p in points]
    below = field.bottom + 2.9 * font_size
    more, bottom = key_rows(_key(points, centre, limits, breaks), width, below, font_size, family)
    return framed(title, width, bottom, parts + more)


def _breaks(field: Field, names: Sequence[Placed], size: float, family: str) -> list[str]:
    """A dashed upright for each dated event, with its words above the field."""
    uprights, words = [], []
    for p in names:
        baseline = field.top - (0.7 + p.row * ROW) * size  # clear of the number at the field's upper edge
        x = p.label.anchor
        uprights.append(marks.line(x, baseline - size, x, field.bottom, 0.8, marks.FAINT, "4 3"))
        side, at = ("end", p.right) if p.right <= x else ("start", p.left)
        words.append(marks.plate(p.left, baseline - size * 0.85, p.right - p.left, size * 1.15))
        words.append(marks.words(at, baseline, p.text, size, family, side))
    return uprights + words


def _span(points: Sequence[TimePoint], breaks: Sequence[TimeBreak]) -> tuple[datetime, datetime]:
    """From the first to the last moment with a little air; a single moment gets a day."""
    moments = [p.at for p in points] + [b.at for b in breaks]
    if not moments:
        raise InputError("points", "none", "at least one point or break")
    first, last = min(moments), max(moments)
    air = max((last - first) * 0.03, timedelta(hours=1)) if last > first else timedelta(hours=12)
    return first - air, last + air


def _reach(points: Sequence[TimePoint], centre: float | None, limits: TimeLimits) -> tuple[float, float]:
    """From the lowest to the highest of what is drawn, zero always in it, with some air."""
    ends = [0.0, *(p.value for p in points), *(v for v in (centre, limits.low, limits.high) if v is not None)]
    low, high = min(ends), max(ends)
    air = 0.12 * (high - low) or 0.001
    return low - air, high + air


def _frame(field: Field, centre: float | None, limits: TimeLimits, size: float, family: str) -> list[str]:
    """Axis with its numbers, the centre line, the walls."""
    out = [marks.line(field.left, field.top, field.left, field.bottom, 0.8)]
    for value, text in value_ticks(field.low, field.high):
        y = field.y(value)
        out.append(marks.line(field.left - 4, y, field.left, y, 0.8))
        out.append(marks.words(field.left - 6, y + size * 0.33, text, size, family, "end"))
    out.append(marks.line(field.left, field.bottom, field.right, field.bottom, 1.2))
    most = max(2, int((field.right - field.left) / (text_width("0000-00-00", size) * 1.25)))
    for at, text in time_ticks(field.first, field.last, most):
        x = field.x(at)
        out.append(marks.line(x, field.bottom, x, field.bottom + 5, 0.8))
        half = text_width(text, size) / 2
        inside = min(max(x, half), field.right + RIGHT - half)
        out.append(marks.words(inside, field.bottom + 7 + size, text, size, family, "middle"))
    if centre is not None:
        y = field.y(centre)
        out.append(f'<g class="centre">{marks.line(field.left, y, field.right, y, 0.8, dash="8 3 2 3")}</g>')
    out += [_wall(field, value, up) for value, up in ((limits.low, False), (limits.high, True)) if value is not None]
    return out


def _wall(field: Field, value: float, forbidden_above: bool) -> str:
    """A limit over the whole time: a heavy line with strokes on the side that is not allowed."""
    y, side = field.y(value), -STROKE if forbidden_above else STROKE
    strokes = [marks.line(field.left, y, field.right, y, 2.0)]
    x = field.left + STROKE
    while x + STROKE <= field.right:
        strokes.append(marks.line(x, y, x + STROKE, y + side, 0.9))
        x += 2 * STROKE
    return '<g class="limit">' + "".join(strokes) + "</g>"


def _thread(field: Field, points: Sequence[TimePoint], breaks: Sequence[TimeBreak]) -> list[str]:
    """A thin thread from point to point, torn at breaks, past the void ones."""
    counted = sorted((p for p in points if p.state != "void"), key=lambda p: p.at)
    whole = [(a, b) for a, b in pairwise(counted) if not any(a.at <= tear.at < b.at for tear in breaks)]
    return [
        marks.line(field.x(a.at), field.y(a.value), field.x(b.at), field.y(b.value), 0.7, marks.FAINT) for a, b in whole
    ]


def _point(field: Field, point: TimePoint) -> str:
    shape = {"within": dot, "beyond": cross, "void": marks.unused}[point.state]
    return shape(field.x(point.at), field.y(point.value))


def dot(x: float, y: float) -> str:
    """A deviation within its limits."""
    return f'<circle class="within" cx="{marks.number(x)}" cy="{marks.number(y)}" r="2.2" fill="{marks.INK}"/>'


def cross(x: float, y: float) -> str:
    """A deviation beyond its limits."""
    strokes = [marks.line(x - 4, y - 4, x + 4, y + 4, 1.8), marks.line(x - 4, y + 4, x + 4, y - 4, 1.8)]
    return '<g class="beyond">' + "".join(strokes) + "</g>"


def _key(
    points: Sequence[TimePoint], centre: float | None, limits: TimeLimits, breaks: Sequence[TimeBreak]
) -> list[KeyItem]:
    """What each shape on this chart means; shapes that are not there are not explained."""
    states = {p.state for p in points}
    out: list[KeyItem] = []
    if "within" in states:
        out.append((dot, "within its limits" if limits != TimeLimits() else "deviation"))
    if "beyond" in states:
        out.append((cross, "beyond a limit"))
    if "void" in states:
        out.append((marks.unused, "void, not counted"))
    if limits != TimeLimits():
        out.append((_wall_sample, "limit, strokes on the side not allowed"))
    if centre is not None:
        out.append((lambda x, y: marks.line(x - 7, y, x + 7, y, 0.8, dash="8 3 2 3"), "centre line"))
    if breaks:
        out.append((lambda x, y: marks.line(x, y - 6, x, y + 6, 0.8, marks.FAINT, "4 3"), "dated event"))
    return out


def _wall_sample(x: float, y: float) -> str:
    strokes = [marks.line(x - 6, y + 2, x + 6, y + 2, 2.0), marks.line(x - 3, y + 2, x + 1, y - 3, 0.9)]
    return "".join([*strokes, marks.line(x + 2, y + 2, x + 6, y - 3, 0.9)])


@dataclass(frozen=True, slots=True)
class TimeRow:
    """One row of the chart's table: the moment, the deviation, its state, its words."""

    at: str
    deviation: str
    state: str
    words: str


def time_chart_table(
    points: Sequence[TimePoint], breaks: Sequence[TimeBreak] = (), decimals: int = 4
) -> tuple[TimeRow, ...]:
    """The chart as rows in time order: deviations and dated events."""
    rows = [
        (p.at, TimeRow(_wall_clock(p.at), f"{p.value:+.{decimals}f}".replace("-", "\N{MINUS SIGN}"), p.state, p.words))
        for p in points
    ]
    rows += [(b.at, TimeRow(_wall_clock(b.at), "", "event", b.words)) for b in breaks]
    return tuple(row for _, row in sorted(rows, key=lambda pair: pair[0]))


def _wall_clock(at: datetime) -> str:
    return at.strftime("%Y-%m-%d %H:%M")

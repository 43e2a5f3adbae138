"""Points and lines as one SVG text, in the manner of the a_w line: shapes and words, no colour needed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import KeyItem, framed, key_rows
from isohume.outlets.paper.line_labels import text_width
from isohume.outlets.paper.time_ticks import value_ticks
from isohume.outlets.paper.xy_spec import Mark, XyLine, XyPoint, XySpec

WIDTH, FONT_SIZE, FAMILY = 420.0, 9.5, "Libertinus Serif, serif"
TALL, LOWEST, TALLEST = 0.55, 170.0, 300.0
AIR = 0.06  # of the range, around what is drawn
MOST_NAMES, LONGEST_NAME = 12, 16


@dataclass(frozen=True, slots=True)
class Field:
    """The field of the picture."""

    x_low: float
    x_high: float
    y_low: float
    y_high: float
    left: float
    right: float
    top: float
    bottom: float

    def x(self, value: float) -> float:
        """Where a value stands across."""
        return self.left + (value - self.x_low) / (self.x_high - self.x_low) * (self.right - self.left)

    def y(self, value: float) -> float:
        """Where a value stands upwards."""
        return self.bottom - (value - self.y_low) / (self.y_high - self.y_low) * (self.bottom - self.top)


def draw_xy(spec: XySpec, width: float = WIDTH, font_size: float = FONT_SIZE, family: str = FAMILY) -> str:
    """The drawing as one SVG text, `width` units wide and as high as its words need."""
    field = _field(spec, width, font_size)
    parts = [marks.words(0, font_size, spec.y_title, font_size, family)]
    parts += _across(field, spec, font_size, family) + _upwards(field, spec, font_size, family)
    parts += [_level(field, level) for level in spec.levels]
    parts += [_line(field, one) for one in spec.lines]
    for point in spec.points:
        parts += _point(field, point)
    more, bottom = key_rows(_key(spec), width, field.bottom + 4.6 * font_size, font_size, family)
    return framed(spec.title, width, bottom, parts + more)


def _field(spec: XySpec, width: float, size: float) -> Field:
    xs = [p.x for p in spec.points] + [x for one in spec.lines for x, _ in one.points]
    ys = [p.y for p in spec.points] + [end for p in spec.points for end in (p.low, p.high) if end is not None]
    ys += [y for one in (*spec.lines, *spec.levels) for _, y in one.points]
    x_low, x_high = (0.5, len(spec.x_names) + 0.5) if spec.x_names else _around(xs)
    y_low, y_high = _around(ys)
    left = 12 + max(text_width(text, size) for _, text in _ticks(y_low, y_high, spec.signed))
    top = 2.2 * size
    tall = min(max(TALL * (width - left - 6), LOWEST), TALLEST)
    return Field(x_low, x_high, y_low, y_high, left, width - 6, top, top + tall)


def _around(values: list[float]) -> tuple[float, float]:
    low, high = min(values), max(values)
    air = AIR * (high - low) or max(abs(high), 1.0) * 0.01
    return low - air, high + air


def _ticks(low: float, high: float, signed: bool) -> list[tuple[float, str]]:
    return [(value, text if signed else text.lstrip("+")) for value, text in value_ticks(low, high)]


def _across(field: Field, spec: XySpec, size: float, family: str) -> list[str]:
    middle = (field.left + field.right) / 2
    out = [
        marks.line(field.left, field.bottom, field.right, field.bottom, 1.2),
        marks.words(middle, field.bottom + 3.1 * size, spec.x_title, size, family, "middle"),
    ]
    for value, text in _x_ticks(field, spec, size):
        x = field.x(value)
        out.append(marks.line(x, field.bottom, x, field.bottom + 4, 0.8))
        out.append(marks.words(x, field.bottom + 6 + size, text, size, family, "middle"))
    return out


def _x_ticks(field: Field, spec: XySpec, size: float) -> list[tuple[float, str]]:
    """Names where they fit, every second or third where they do not; else numbers."""
    if not spec.x_names:
        return _ticks(field.x_low, field.x_high, False)
    names = [name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…" for name in spec.x_names]
    widest = max(text_width(name, size) for name in names) + 8
    fit = max(1, min(MOST_NAMES, int((field.right - field.left) / widest)))
    step = -(-len(names) // fit)
    return [(i + 1.0, name) for i, name in enumerate(names) if i % step == 0]


def _upwards(field: Field, spec: XySpec, size: float, family: str) -> list[str]:
    out = [marks.line(field.left, field.top, field.left, field.bottom, 0.8)]
    for value, text in _ticks(field.y_low, field.y_high, spec.signed):
        y = field.y(value)
        out.append(marks.line(field.left - 4, y, field.left, y, 0.8))
        out.append(marks.words(field.left - 7, y + size * 0.33, text, size, family, "end"))
    return out


def _level(field: Field, level: XyLine) -> str:
    """A line over the whole width at one height."""
    y = field.y(level.points[0][1])
    return marks.line(field.left, y, field.right, y, level.width, marks.INK, level.dash)


def _line(field: Field, one: XyLine) -> str:
    path = " ".join(f"{marks.number(field.x(x))},{marks.number(field.y(y))}" for x, y in one.points)
    dashes = f' stroke-dasharray="{one.dash}"' if one.dash else ""
    pen = f'fill="none" stroke="{marks.INK}" stroke-width="{marks.number(one.width)}"{dashes}'
    return f'<polyline points="{path}" {pen}/>'


def _point(field: Field, point: XyPoint) -> list[str]:
    x, y = field.x(point.x), field.y(point.y)
    out = []
    if point.low is not None and point.high is not None:
        low, high = field.y(point.low), field.y(point.high)
        out.append(marks.line(x, low, x, high, 1.0))
        out += [marks.line(x - 3, end, x + 3, end, 1.0) for end in (low, high)]
    return [*out, _MARKS[point.mark](x, y)]


def _dot(x: float, y: float) -> str:
    return f'<circle cx="{marks.number(x)}" cy="{marks.number(y)}" r="3" fill="{marks.INK}"/>'


def _square(x: float, y: float) -> str:
    place = f'x="{marks.number(x - 3)}" y="{marks.number(y - 3)}" width="6" height="6"'
    return f'<rect {place} fill="{marks.PAPER}" stroke="{marks.INK}" stroke-width="1.2"/>'


def _triangle(x: float, y: float) -> str:
    corners = ((x, y - 4), (x + 4, y + 3), (x - 4, y + 3))
    points = " ".join(f"{marks.number(a)},{marks.number(b)}" for a, b in corners)
    return f'<polygon points="{points}" fill="{marks.INK}"/>'


def _cross(x: float, y: float) -> str:
    return marks.line(x - 3.5, y - 3.5, x + 3.5, y + 3.5, 1.6) + marks.line(x - 3.5, y + 3.5, x + 3.5, y - 3.5, 1.6)


_MARKS: dict[Mark, Callable[[float, float], str]] = {
    "dot": _dot,
    "square": _square,
    "triangle": _triangle,
    "cross": _cross,
    "lozenge": marks.lozenge,
    "ring": marks.ring,
}


def _key(spec: XySpec) -> list[KeyItem]:
    """What each shape of this picture means; shapes that are not there are not explained."""
    used = {point.mark for point in spec.points}
    out: list[KeyItem] = [(_MARKS[mark], name) for mark, name in spec.mark_names if mark in used]
    seen: set[tuple[str, float]] = set()
    for one in (*spec.lines, *spec.levels):
        if one.name and (one.dash, one.width) not in seen:
            seen.add((one.dash, one.width))
            out.append((_sample(one), one.name))
    return out


def _sample(one: XyLine) -> Callable[[float, float], str]:
    return lambda x, y: marks.line(x - 4, y, x + 9, y, one.width, marks.INK, one.dash)

"""One strip of the picture: a stretch of a_w laid on a horizontal line, with its ticks and its marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_spec import LimitMark, LineSpec, ValueMark, Window
from isohume.outlets.paper.line_ticks import ticks

LANE = 13.0  # height of one lane of marks above the line
SHAPES = {
    "result": marks.lozenge,
    "reading": marks.reading,
    "not used": marks.unused,
    "expected": marks.waiting,
}


@dataclass(frozen=True, slots=True)
class Strip:
    """A window of a_w between two x, with the line at height `y`."""

    window: Window
    left: float
    right: float
    y: float

    def x(self, a_w: float) -> float:
        """Where a number stands, also outside the window."""
        return self.left + (a_w - self.window.low) / self.window.width * (self.right - self.left)

    def inside(self, a_w: float) -> float:
        """Where a number stands, moved to the nearer end where it lies outside the window."""
        return min(max(self.x(a_w), self.left), self.right)


def lanes(values: Sequence[ValueMark], window: Window) -> tuple[int, ...]:
    """A lane for each value: readings in lane 0, results above, none over another's interval."""
    air = window.width * 0.02
    taken: list[tuple[int, float, float]] = []
    out = []
    for value in values:
        lane = 0
        if value.kind == "result":
            lane = 1
            while any(at == lane and value.low - air < b and a < value.high + air for at, a, b in taken):
                lane += 1
            taken.append((lane, value.low, value.high))
        out.append(lane)
    return tuple(out)


def height(values: Sequence[ValueMark], window: Window) -> float:
    """How far the marks of a strip rise above its line."""
    return LANE * (max(lanes(values, window), default=0) + 1) + 8


def axis(strip: Strip, spec: LineSpec, font_size: float, family: str) -> list[str]:
    """The line itself, thick where the instrument may speak, with ticks and their numbers below it."""
    out = _base(strip, spec)
    for tick in ticks(strip.window):
        x = strip.x(tick.a_w)
        out.append(marks.line(x, strip.y + 3, x, strip.y + (8 if tick.text else 5.5), 0.8))
        if tick.text:
            out.append(marks.words(x, strip.y + 9 + font_size, tick.text, font_size, family, "middle"))
    return out


def _base(strip: Strip, spec: LineSpec) -> list[str]:
    if spec.speaks is None:
        return [marks.line(strip.left, strip.y, strip.right, strip.y, 1.2)]
    out = [marks.line(strip.left, strip.y, strip.right, strip.y, 0.8, dash="2 2.5")]
    low, high = strip.inside(spec.speaks.low), strip.inside(spec.speaks.high)
    if high > low:
        out.append(f'<g class="speaks">{marks.line(low, strip.y, high, strip.y, 3.4)}</g>')
    out += [
        marks.line(strip.x(end), strip.y - 4, strip.x(end), strip.y + 4, 1.4)
        for end in (spec.speaks.low, spec.speaks.high)
        if strip.window.holds(end)
    ]
    return out


def limit_marks(strip: Strip, limits: Sequence[LimitMark], top: float) -> list[str]:
    """Guard bands first, walls over them."""
    out = []
    for limit in limits:
        if limit.acceptance is not None:
            ends = sorted((strip.inside(limit.acceptance), strip.inside(limit.value)))
            if ends[1] > ends[0]:
                out.append(marks.hatching(ends[0], ends[1], top, strip.y - 2))
                edge = strip.inside(limit.acceptance)
                out.append(marks.line(edge, top, edge, strip.y - 2, 0.8))
    out += [
        marks.wall(strip.x(limit.value), top, strip.y, limit.is_upper)
        for limit in limits
        if strip.window.holds(limit.value)
    ]
    return out


def value_marks(strip: Strip, values: Sequence[ValueMark]) -> list[str]:
    """Readings on the lowest lane, results with their intervals above."""
    out = []
    for value, lane in zip(values, lanes(values, strip.window), strict=True):
        x, y = strip.x(value.value), strip.y - LANE * (lane + 0.75)
        if value.kind == "result" and value.half_width is not None:
            low, high = strip.inside(value.low), strip.inside(value.high)
            if high > low:
                opened = (value.low < strip.window.low, value.high > strip.window.high)
                out.append(marks.interval(low, high, y, *opened))
        if strip.window.holds(value.value):
            out.append(SHAPES[value.kind](x, y))
    return out


def reference_marks(strip: Strip, spec: LineSpec) -> list[str]:
    """A ring where each reference should be, a dot where it read."""
    out = []
    for reference in spec.references:
        if reference.read is not None:
            ends = strip.inside(reference.expected), strip.inside(reference.read)
            out.append(marks.line(ends[0], strip.y, ends[1], strip.y, 1.2))
        if strip.window.holds(reference.expected):
            out.append(marks.ring(strip.x(reference.expected), strip.y))
        if reference.read is not None and strip.window.holds(reference.read):
            out.append(marks.dot(strip.x(reference.read), strip.y))
    return out

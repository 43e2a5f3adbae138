"""The bias of a failed check against a_w: its references with their uncertainty, the line between them, the lots on it.

dot or cross = a reference within or not, on its interval U = 2 u; thread = the bias between them, hatched for its
U; short bar = a lot; walls = the laboratory's own limit for a deviation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import ROW, KeyItem, framed, key_rows
from isohume.outlets.paper.line_labels import Label, place, text_width
from isohume.outlets.paper.line_spec import Window
from isohume.outlets.paper.line_ticks import ticks
from isohume.outlets.paper.look_back_spec import BiasMark, LookBackSpec
from isohume.outlets.paper.time_chart import cross, dot
from isohume.outlets.paper.time_ticks import value_ticks

TALL = 170.0
STROKE = 5.0
AIR = 0.04


@dataclass(frozen=True, slots=True)
class Field:
    """A span of a_w and a span of deviation on a rectangle."""

    window: Window
    low: float
    high: float
    left: float
    right: float
    top: float

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + TALL

    def x(self, a_w: float) -> float:
        """Where an a_w stands."""
        return self.left + (a_w - self.window.low) / self.window.width * (self.right - self.left)

    def y(self, value: float) -> float:
        """Where a deviation stands, at the edge where it lies beyond."""
        inside = min(max(value, self.low), self.high)
        return self.bottom - (inside - self.low) / (self.high - self.low) * TALL


def draw_bias(spec: LookBackSpec, width: float, size: float, family: str) -> str:
    """The picture as one SVG text."""
    window, (low, high) = _window(spec), _reach(spec)
    left = 10 + max(text_width(text, size) for _, text in value_ticks(low, high))
    bare = Field(window, low, high, left, width - 8, 0.0)
    names = place([Label(bare.x(r.a_w), r.name) for r in spec.references], width, size)
    rows = 1 + max((p.row for p in names), default=-1)
    field = Field(window, low, high, left, width - 8, 4 + (rows + 1.4) * ROW * size)
    parts = [marks.words(0, size, "deviation at the references, a_w", size, family)]
    for p in names:
        baseline = field.top - (0.5 + p.row * ROW) * size
        side, at = ("end", p.right) if p.right <= p.label.anchor else ("start", p.left)
        parts.append(
            marks.line(p.label.anchor, baseline + 2, p.label.anchor, field.bottom, 0.5, marks.FAINT, "1.5 2.5")
        )
        parts.append(marks.plate(p.left, baseline - size * 0.85, p.right - p.left, size * 1.15))
        parts.append(marks.words(at, baseline, p.text, size, family, side))
    parts += _axes(field, size, family) + _limits(field, spec.limit) + _curve(field, spec) + _marks(field, spec)
    more, end = key_rows(_key(spec), width, field.bottom + 3.4 * size, size, family)
    return framed(f"{spec.title}: bias against a_w", width, end, parts + more)


def _window(spec: LookBackSpec) -> Window:
    ends = [r.a_w for r in spec.references] + [p.a_w for p in spec.places]
    low, high = min(ends), max(ends)
    air = max(AIR * (high - low), 0.01)
    return Window(max(low - air, 0.0), min(high + air, 1.2))


def _reach(spec: LookBackSpec) -> tuple[float, float]:
    ends = [0.0, spec.limit, -spec.limit]
    ends += [v for r in spec.references for v in (r.deviation - r.half_width, r.deviation + r.half_width)]
    low, high = min(ends), max(ends)
    air = 0.08 * (high - low)
    return low - air, high + air


def _axes(field: Field, size: float, family: str) -> list[str]:
    out = [marks.line(field.left, field.top, field.left, field.bottom, 0.8)]
    for value, text in value_ticks(field.low, field.high):
        y = field.y(value)
        out.append(marks.line(field.left - 4, y, field.left, y, 0.8))
        out.append(marks.words(field.left - 6, y + size * 0.33, text, size, family, "end"))
    out.append(marks.line(field.left, field.bottom, field.right, field.bottom, 1.2))
    for tick in ticks(field.window, max(2, int((field.right - field.left) / (4.5 * size)))):
        x = field.x(tick.a_w)
        out.append(marks.line(x, field.bottom, x, field.bottom + (5 if tick.text else 3), 0.8))
        if tick.text:
            out.append(marks.words(x, field.bottom + 7 + size, tick.text, size, family, "middle"))
    out.append(marks.line(field.left, field.y(0.0), field.right, field.y(0.0), 0.8, marks.FAINT))
    return [*out, marks.words(field.right, field.bottom + 8 + 2 * size, "a_w", size, family, "end")]


def _limits(field: Field, limit: float) -> list[str]:
    out = []
    for value, side in ((limit, -STROKE), (-limit, STROKE)):
        y = field.y(value)
        strokes, x = [marks.line(field.left, y, field.right, y, 1.2)], field.left + STROKE
        while x + STROKE <= field.right:
            strokes.append(marks.line(x, y, x + STROKE, y + side, 0.6))
            x += 3 * STROKE
        out.append('<g class="limit">' + "".join(strokes) + "</g>")
    return out


def _curve(field: Field, spec: LookBackSpec) -> list[str]:
    """The bias from reference to reference, with the ends of its U as dashed threads."""
    out = []
    for (a, bias, half), (b, following, other) in pairwise(spec.curve):
        x1, x2 = field.x(a), field.x(b)
        out.append(marks.line(x1, field.y(bias), x2, field.y(following), 1.2))
        for sign in (-1, 1):
            ends = (field.y(bias + sign * half), field.y(following + sign * other))
            out.append(marks.line(x1, ends[0], x2, ends[1], 0.7, marks.FAINT, "3 2"))
    return out


def _marks(field: Field, spec: LookBackSpec) -> list[str]:
    out = [marks.reading(field.x(p.a_w), field.y(p.bias)) for p in spec.places]
    return out + [part for r in spec.references for part in _reference(field, r)]


def _reference(field: Field, mark: BiasMark) -> list[str]:
    x = field.x(mark.a_w)
    low, high = field.y(mark.deviation - mark.half_width), field.y(mark.deviation + mark.half_width)
    stem = [marks.line(x, low, x, high, 1.2), *(marks.line(x - 3, y, x + 3, y, 1.2) for y in (low, high))]
    return [*stem, (dot if mark.within else cross)(x, field.y(mark.deviation))]


def _key(spec: LookBackSpec) -> list[KeyItem]:
    out: list[KeyItem] = []
    if any(r.within for r in spec.references):
        out.append((dot, "reference within, on U = 2 u"))
    if any(not r.within for r in spec.references):
        out.append((cross, "reference not within, on U = 2 u"))
    if len(spec.curve) > 1:
        out.append((lambda x, y: marks.line(x - 7, y, x + 7, y, 1.2), "bias between them"))
        out.append((lambda x, y: marks.line(x - 7, y, x + 7, y, 0.7, marks.FAINT, "3 2"), "its U"))
    if spec.places:
        out.append((marks.reading, "a lot"))
    out.append((_limit_sample, "the laboratory's own limit"))
    return out


def _limit_sample(x: float, y: float) -> str:
    strokes = [marks.line(at, y + 2, at + 4, y - 3, 0.6) for at in (x - 6, x, x + 4)]
    return "".join([marks.line(x - 7, y + 2, x + 7, y + 2, 1.2), *strokes])


def bias_table(spec: LookBackSpec) -> tuple[tuple[str, ...], ...]:
    """The same as rows: what, a_w, deviation or bias, its U, said of it."""
    rows: Sequence[tuple[str, ...]] = [
        (r.name, f"{r.a_w:.4f}", _signed(r.deviation), f"{r.half_width:.4f}", "within" if r.within else "not within")
        for r in spec.references
    ]
    return (*rows, *((p.name, f"{p.a_w:.4f}", _signed(p.bias), f"{p.half_width:.4f}", "lot") for p in spec.places))


def _signed(value: float) -> str:
    return f"{value:+.4f}".replace("-", "\N{MINUS SIGN}")

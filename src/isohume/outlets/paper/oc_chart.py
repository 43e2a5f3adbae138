"""The operating characteristic of a sampling plan as one SVG text: what a plan lets pass, without a colour.

curve = probability that a lot passes; dot = a point the plan was made for, with its numbers beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import framed, key_rows
from isohume.outlets.paper.line_labels import text_width
from isohume.outlets.paper.time_ticks import value_ticks

LOWEST, TALLEST, TALL = 170.0, 260.0, 0.5
EVERY = 6  # of the curve's points, one in so many stands in the table


@dataclass(frozen=True, slots=True)
class OcSpec:
    """The curve as pairs of fraction and probability of passing; points: name, fraction, probability."""

    title: str
    curve: Sequence[tuple[float, float]]
    points: Sequence[tuple[str, float, float]] = ()


@dataclass(frozen=True, slots=True)
class Field:
    """Fraction across, probability upwards."""

    last: float
    left: float
    right: float
    top: float
    bottom: float

    def x(self, fraction: float) -> float:
        """Where a fraction stands."""
        return self.left + fraction / self.last * (self.right - self.left)

    def y(self, probability: float) -> float:
        """Where a probability stands."""
        return self.bottom - probability * (self.bottom - self.top)


def draw_oc(spec: OcSpec, width: float, size: float, family: str) -> str:
    """The picture, `width` units wide."""
    field = _field(spec, width, size)
    parts = _axes(field, size, family)
    path = " ".join(f"{marks.number(field.x(f))},{marks.number(field.y(p))}" for f, p in spec.curve)
    parts.append(f'<polyline class="curve" points="{path}" fill="none" stroke="{marks.INK}" stroke-width="1.8"/>')
    for point in spec.points:
        parts += _point(field, point, size, family)
    key, bottom = key_rows(
        [
            (lambda x, y: marks.line(x - 7, y, x + 7, y, 1.8), "probability that a lot passes the plan"),
            (_spot, "point the plan was made for"),
        ],
        width,
        field.bottom + 4.6 * size,
        size,
        family,
    )
    return framed(spec.title, width, bottom, parts + key)


def oc_table(spec: OcSpec) -> tuple[tuple[str, str, str], ...]:
    """The picture as rows of fraction in percent, probability in percent, and which point it is."""
    named = {round(fraction, 12): name for name, fraction, _ in spec.points}
    rows = {round(f, 12): p for f, p in spec.curve[::EVERY]} | {round(f, 12): p for _, f, p in spec.points}
    return tuple((f"{100 * f:.4g}", f"{100 * rows[f]:.2f}", named.get(f, "")) for f in sorted(rows))


def _field(spec: OcSpec, width: float, size: float) -> Field:
    left = 10 + text_width("100", size)
    tall = min(max(TALL * width, LOWEST), TALLEST)
    return Field(spec.curve[-1][0], left, width - 8.0, 2.0 * size, 2.0 * size + tall)


def _axes(field: Field, size: float, family: str) -> list[str]:
    out = [
        marks.words(0, size, "lots that pass, %", size, family),
        marks.line(field.left, field.bottom, field.right, field.bottom, 1.2),
        marks.line(field.left, field.top, field.left, field.bottom, 0.8),
    ]
    for fifth in range(6):
        y = field.y(fifth / 5)
        out.append(marks.line(field.left, y, field.right, y, 0.5, marks.FAINT, "2 3"))
        out.append(marks.words(field.left - 5, y + 0.33 * size, f"{20 * fifth}", size, family, "end"))
    for value, text in value_ticks(0.0, 100 * field.last):
        x = field.x(value / 100)
        anchor = "end" if x > field.right - size else "middle"
        out.append(marks.line(x, field.bottom, x, field.bottom + 4, 0.8))
        out.append(marks.words(x, field.bottom + 6 + size, text.lstrip("+"), size, family, anchor))
    middle, below = (field.left + field.right) / 2, field.bottom + 3.1 * size
    return [*out, marks.words(middle, below, "fraction of the lot beyond the limit, %", size, family, "middle")]


def _point(field: Field, point: tuple[str, float, float], size: float, family: str) -> list[str]:
    name, fraction, probability = point
    x, y = field.x(fraction), field.y(probability)
    said = f"{name}: {100 * fraction:.3g} %, passes {100 * probability:.3g} %"
    run = text_width(said, size)
    # right of a point near the top the curve has fallen away already; a low one needs the room above it
    left = min(x + 9, field.right - run)
    up = y - 8 if probability < 0.5 else y + 0.33 * size
    foot = marks.line(x, y, x, field.bottom, 0.7, marks.FAINT, "2 3")
    plate = marks.plate(left - 2, up - size, run + 4, 1.35 * size)
    return [foot, _spot(x, y), plate, marks.words(left, up, said, size, family)]


def _spot(x: float, y: float) -> str:
    return f'<circle class="point" cx="{marks.number(x)}" cy="{marks.number(y)}" r="4" fill="{marks.INK}"/>'

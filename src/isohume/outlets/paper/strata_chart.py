"""The strata of a lot as one SVG text, in the manner of the a_w line: a row a position, the worst one on top.

short bar = a portion, lozenge = the value of a position, open lozenge = a mixture of places, wall with strokes = a
limit, fine hatching = its guard band. Words say which position is the worst and how many portions it has.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import KeyItem, framed, key_rows
from isohume.outlets.paper.time_ticks import value_ticks

MOST_ROWS = 24
HEADROOM = 0.08
SMALLEST_SPREAD = 0.004  # of a_w: portions that are all alike still need a field to stand in


@dataclass(frozen=True, slots=True)
class StratumRow:
    """A position with its portions, their value where they have one, and what is said of it."""

    position: str
    portions: tuple[float, ...]
    value: float | None
    words: str
    mixture: bool = False


@dataclass(frozen=True, slots=True)
class StrataSpec:
    """The whole picture; limits: value, whether a maximum, and the acceptance limit inside it where there is one."""

    title: str
    rows: Sequence[StratumRow]
    limits: Sequence[tuple[float, bool, float | None]] = ()


@dataclass(frozen=True, slots=True)
class Field:
    """From a_w to a place across."""

    low: float
    high: float
    left: float
    right: float

    def x(self, a_w: float) -> float:
        """Where an a_w stands."""
        return self.left + (a_w - self.low) / (self.high - self.low) * (self.right - self.left)


def draw_strata(spec: StrataSpec, width: float, size: float, family: str) -> str:
    """The picture, `width` units wide and as high as its rows need."""
    shown, field = spec.rows[:MOST_ROWS], _field(spec, width)
    top, step = 0.6 * size, 2.7 * size
    bottom = top + step * len(shown)
    parts = _limits(spec, field, top, bottom)
    for place, row in enumerate(shown):
        parts += _row(row, field, top + step * place, size, family)
    if len(spec.rows) > len(shown):
        more = f"and {len(spec.rows) - len(shown)} more positions, all better; the table has them"
        parts.append(marks.words(2, bottom + size, more, size, family))
        bottom += 1.6 * size
    parts += _axis(field, bottom, size, family)
    key, bottom = key_rows(_key(spec), width, bottom + 4.6 * size, size, family)
    return framed(spec.title, width, bottom, parts + key)


def strata_table(spec: StrataSpec) -> tuple[tuple[str, str, str, str], ...]:
    """The picture as rows of position, value, portions and words; the limits last."""
    rows = [
        (
            row.position,
            "" if row.value is None else f"{row.value:.4f}",
            ", ".join(f"{x:.4f}" for x in row.portions),
            row.words,
        )
        for row in spec.rows
    ]
    for value, is_upper, acceptance in spec.limits:
        said = "" if acceptance is None else f"accepted {'up to' if is_upper else 'from'} {acceptance:.4f}"
        rows.append(("highest allowed" if is_upper else "lowest allowed", f"{value:.4f}", "", said))
    return tuple(rows)


def _field(spec: StrataSpec, width: float) -> Field:
    every = [x for row in spec.rows for x in row.portions] + [limit for limit, _, _ in spec.limits]
    low, high = min(every), max(every)
    air = max(HEADROOM * (high - low), (SMALLEST_SPREAD - (high - low)) / 2, 0.0005)
    return Field(low - air, high + air, 6.0, width - 6.0)


def _limits(spec: StrataSpec, field: Field, top: float, bottom: float) -> list[str]:
    out = []
    for value, is_upper, acceptance in spec.limits:
        if acceptance is not None and acceptance != value:
            ends = sorted((field.x(value), max(field.left, min(field.x(acceptance), field.right))))
            out.append(marks.hatching(ends[0], ends[1], top, bottom))
        out.append(marks.wall(field.x(value), top, bottom, is_upper))
    return out


def _row(row: StratumRow, field: Field, top: float, size: float, family: str) -> list[str]:
    y = top + 2.0 * size
    name = f"{row.position}: {row.words}" if row.words else row.position
    out = [marks.line(field.left, y, field.right, y, 0.5, marks.FAINT)]
    out += [marks.reading(field.x(x), y) for x in row.portions]
    if row.value is not None:
        out.append((marks.waiting if row.mixture else marks.lozenge)(field.x(row.value), y))
    return [marks.words(field.left, top + size, name, size, family), *out]


def _axis(field: Field, y: float, size: float, family: str) -> list[str]:
    out = [marks.line(field.left, y, field.right, y, 1.2)]
    for value, text in value_ticks(field.low, field.high, 8 if field.right - field.left > 40 * size else 4):
        x = field.x(value)
        anchor = "start" if x < field.left + 2 * size else "end" if x > field.right - 2 * size else "middle"
        out.append(marks.line(x, y, x, y + 4, 0.8))
        out.append(marks.words(x, y + 6 + size, text.lstrip("+"), size, family, anchor))
    middle = (field.left + field.right) / 2
    return [*out, marks.words(middle, y + 3.1 * size, "water activity a_w", size, family, "middle")]


def _key(spec: StrataSpec) -> list[KeyItem]:
    out: list[KeyItem] = [(marks.reading, "a portion")]
    if any(row.value is not None and not row.mixture for row in spec.rows):
        out.append((marks.lozenge, "value of a position"))
    if any(row.mixture for row in spec.rows):
        out.append((marks.waiting, "a mixture of places"))
    for is_upper, words in ((True, "highest allowed"), (False, "lowest allowed")):
        if any(side == is_upper for _, side, _ in spec.limits):
            out.append((_wall(is_upper), words))
    if any(acceptance is not None for _, _, acceptance in spec.limits):
        out.append((lambda x, y: marks.hatching(x - 7, x + 7, y - 5, y + 5), "guard band"))
    return out


def _wall(is_upper: bool) -> Callable[[float, float], str]:
    return lambda x, y: marks.wall(x, y - 6, y + 6, is_upper)

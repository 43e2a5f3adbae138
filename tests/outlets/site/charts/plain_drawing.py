"""A chart's picture drawn point by point, as plainly as it can be said: what the quick way is held against."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from isohume.foundation.metrology.charts_by_point import ControlChart
from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import ROW, KeyItem, framed, key_rows
from isohume.outlets.paper.line_labels import Label, place, text_width
from isohume.outlets.paper.time_chart import cross
from isohume.outlets.paper.time_ticks import value_ticks
from isohume.outlets.site.charts.drawing import (
    FEW,
    LETTERS,
    RIGHT,
    STROKE,
    TALL,
    TALL_RANGE,
    _frame,
    _phases,
    _ring,
    _square,
)
from isohume.outlets.site.charts.field import STATISTIC
from isohume.outlets.site.charts.series import Look
from isohume.outlets.site.incoming.models.history import UNVERIFIED


@dataclass(frozen=True, slots=True)
class Field:
    """Where moments and values stand."""

    first: float
    last: float
    low: float
    high: float
    left: float
    right: float
    top: float
    tall: float

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.tall

    def x(self, at_s: float) -> float:
        """Where a moment stands, in seconds."""
        return self.left + (at_s - self.first) / (self.last - self.first) * (self.right - self.left)

    def spots(self, at: Sequence[int], values: Sequence[float]) -> list[str]:
        """Where points inside the picture stand, as a path names them; a year has many."""
        wide = (self.right - self.left) / (self.last - self.first)
        tall = self.tall / (self.high - self.low)
        x0, y0 = self.left - self.first * wide, self.bottom + self.low * tall
        return [f"{x0 + t * wide:.1f} {y0 - v * tall:.1f}" for t, v in zip(at, values, strict=True)]

    def y(self, value: float) -> float:
        """Where a value stands; one beyond the picture stands at its edge."""
        share = (value - self.low) / (self.high - self.low)
        return self.bottom - min(max(share, 0.0), 1.0) * self.tall


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a look shows in its span: places of its counted points, moments, and the names of the phases."""

    look: Look
    control: ControlChart
    places: range
    at: Sequence[int]
    title: str
    quantity: str
    size: float
    family: str


def draw_control_chart(look: Look, zone: ZoneInfo, title: str, width: float, size: float, family: str) -> str:
    """The chart of a look that has one, `width` units wide and as high as its words need."""
    control = look.control
    if control is None:
        raise ValueError("a look without a chart has no picture")
    at = [point.at_s for point in look.counted]
    start = min(bisect_left(at, look.start_s), len(at) - 1)
    quantity = f"{STATISTIC[control.rules.kind]}{'a_w' if look.chart.product_id else 'deviation, a_w'}"
    shown = Drawn(look, control, range(start, len(at)), at, title, quantity, size, family)
    field, names = _field(shown, width)
    parts = [marks.words(0, size, shown.quantity, size, family), *names, *_frame(field, shown, zone)]
    spots = field.spots(at[start:], control.statistic[start:])
    for inside in _phases(shown):
        parts += _phase(field, shown, inside, spots[inside.start - start : inside.stop - start])
    past = max(0, look.historic - start)
    parts += [*_past(spots[:past]), *_dots(spots[past:]), *_uncounted(field, shown), *_signals(field, shown)]
    below = field.bottom + 2.9 * size
    if control.rules.kind == "individuals":
        parts += _ranges(field, shown, below)
        below += TALL_RANGE + 3.0 * size
    more, bottom = key_rows(_key(shown), width, below, size, family)
    return framed(title, width, bottom, parts + more)


def _field(shown: Drawn, width: float) -> tuple[Field, list[str]]:
    """The field under the names of its phases."""
    size = shown.size
    values = [shown.control.statistic[i] for i in shown.places]
    values += [edge for i in shown.places for edge in shown.control.limits[i]]
    low, high = min(values), max(values)
    air = 0.1 * (high - low)
    left = 14 + max(text_width(text, size) for _, text in value_ticks(low - air, high + air))
    first, last = shown.at[shown.places[0]], shown.at[shown.places[-1]]
    spare = max((last - first) * 0.03, 6 * 3600.0)
    bare = Field(first - spare, last + spare, low - air, high + air, left, width - RIGHT, 0.0, TALL)
    starts = [(i, what) for i, what in shown.look.starts if i in shown.places][-FEW:]
    placed = place([Label(bare.x(shown.at[i]), what) for i, what in starts], width, size)
    rows = 1 + max((p.row for p in placed), default=-1)
    top = 4 + (rows + 1.2) * ROW * size
    field = Field(bare.first, bare.last, bare.low, bare.high, left, bare.right, top, TALL)
    uprights, words = [], []
    for p in placed:
        baseline = top - (0.7 + p.row * ROW) * size
        x = p.label.anchor
        uprights.append(marks.line(x, baseline - size, x, field.bottom, 0.8, marks.FAINT, "4 3"))
        side, where = ("end", p.right) if p.right <= x else ("start", p.left)
        words.append(marks.plate(p.left, baseline - size * 0.85, p.right - p.left, size * 1.15))
        words.append(marks.words(where, baseline, p.text, size, shown.family, side))
    return field, uprights + words


def _phase(field: Field, shown: Drawn, places: range, spots: Sequence[str]) -> list[str]:
    """Thread, centre and limits of one phase."""
    control = shown.control
    left, right = field.x(shown.at[places[0]]) - 3, field.x(shown.at[places[-1]]) + 3
    phase = next(p for p in control.phases if p.start <= places.start < p.end)
    centre = 0.0 if control.rules.kind == "cusum" else phase.center
    y = field.y(centre)
    out = [f'<g class="centre">{marks.line(left, y, right, y, 0.8, dash="8 3 2 3")}</g>']
    out.append(_path(spots, 0.6, marks.FAINT))
    for side in (0, 1):
        edges = [control.limits[i][side] for i in places]
        if max(edges) - min(edges) < 1e-6 * (field.high - field.low):
            out.append(_wall(left, right, field.y(edges[0]), side == 1))
        else:
            at = [shown.at[i] for i in places]
            out.append(_path(field.spots(at, edges), 1.6, marks.INK))
            settled = next(n for n, edge in enumerate(edges) if abs(edge - edges[-1]) < 1e-3 * (field.high - field.low))
            out.append(_strokes(field.x(at[settled]), right, field.y(edges[-1]), side == 1))
    return out


def _path(spots: Sequence[str], width: float, ink: str) -> str:
    return f'<path d="M{" ".join(spots)}" fill="none" stroke="{ink}" stroke-width="{width}"/>'


def _wall(left: float, right: float, y: float, above: bool) -> str:
    return f'<g class="limit">{marks.line(left, y, right, y, 1.6)}{_strokes(left, right, y, above)}</g>'


def _strokes(left: float, right: float, y: float, above: bool) -> str:
    """Strokes on the side that is outside the limit, as one path."""
    rise = -STROKE if above else STROKE
    steps, x = [], left + STROKE
    while x + STROKE <= right:
        steps.append(f"M{x:.1f} {y:.1f}l{STROKE:g} {rise:g}")
        x += 3 * STROKE
    return f'<path d="{"".join(steps)}" fill="none" stroke="{marks.INK}" stroke-width="0.9"/>' if steps else ""


def _dots(spots: Sequence[str]) -> list[str]:
    """All points that count, as one path of round ends."""
    if not spots:
        return []
    wide = 4.4 if len(spots) <= 150 else 3.2
    look = f'fill="none" stroke="{marks.INK}" stroke-width="{wide}" stroke-linecap="round"'
    return [f'<path class="within" d="M{"h0M".join(spots)}h0" {look}/>']


def _past(spots: Sequence[str]) -> list[str]:
    """Past checks from spreadsheets: open triangles, as one path."""
    if not spots:
        return []
    drawn = "".join(f"M{spot}m0 -3.4l3.2 5.6h-6.4z" for spot in spots)
    look = f'fill="{marks.PAPER}" stroke="{marks.INK}" stroke-width="0.9"'
    return [f'<path class="historic" d="{drawn}" {look}/>']


def _uncounted(field: Field, shown: Drawn) -> list[str]:
    """Failed and void ones at their value; beyond the picture at its edge. Averages and sums have no such points."""
    out = []
    start = shown.look.start_s
    level = None if shown.control.rules.kind != "cusum" else 0.0
    for point in shown.look.points:
        if not point.counted and point.at_s >= start and field.first <= point.at_s <= field.last:
            x, y = field.x(point.at_s), field.y(point.value if level is None else level)
            out.append(marks.unused(x, y) if point.void else cross(x, y))
    return out


def _signals(field: Field, shown: Drawn) -> list[str]:
    """A square around each point that signals; the letter where a rule begins to speak, above or below it."""
    last: dict[str, int] = {}
    named: dict[int, str] = {}
    sides: dict[int, int] = {}
    for signal in shown.look.signals:
        letter = LETTERS[signal.rule]
        new = letter if signal.first > last.get(letter, -9) + 1 else ""
        named[signal.index] = named.get(signal.index, "") + new
        last[letter], sides[signal.index] = signal.index, signal.side
    out = []
    for i, letters in named.items():
        x, y = field.x(shown.at[i]), field.y(shown.control.statistic[i])
        out.append(_ring(x, y))
        if letters:
            below = y - 7 - shown.size < field.top or (sides[i] < 0 and y + 7 + shown.size < field.bottom)
            base = y + 8 + shown.size * 0.8 if below else y - 8
            out.append(marks.words(x, base, letters, shown.size, shown.family, "middle", bold=True))
    return out


def _ranges(field: Field, shown: Drawn, top: float) -> list[str]:
    """The moving ranges in a strip of their own, with their limit in each phase."""
    control, size = shown.control, shown.size
    ranges = [(i, control.ranges[i]) for i in shown.places]
    limits = [phase.range_limit for phase in control.phases if phase.end > shown.places.start]
    high = 1.1 * max([*limits, *(step for _, step in ranges if step is not None)])
    strip = Field(field.first, field.last, 0.0, high, field.left, field.right, top + 1.4 * size, TALL_RANGE)
    out = [marks.words(0, top + 0.6 * size, "moving range", size, shown.family)]
    out.append(marks.line(strip.left, strip.bottom, strip.right, strip.bottom, 1.2))
    out.append(marks.line(strip.left, strip.top, strip.left, strip.bottom, 0.8))
    for value, text in value_ticks(0.0, high, 3):
        if value:
            out.append(
                marks.words(strip.left - 6, strip.y(value) + size * 0.33, text.lstrip("+"), size, shown.family, "end")
            )
    for places in _phases(shown):
        steps = [(shown.at[i], step) for i in places if (step := control.ranges[i]) is not None]
        if len(steps) > 1:
            at = [one for one, _ in steps]
            out.append(_path(strip.spots(at, [step for _, step in steps]), 0.9, marks.INK))
            limit = next(p for p in control.phases if p.start <= places.start < p.end).range_limit
            out.append(_wall(strip.x(at[0]) - 3, strip.x(at[-1]) + 3, strip.y(limit), True))
    beyond = [s for s in control.range_signals if s.index in shown.places]
    for signal in beyond:
        x, y = strip.x(shown.at[signal.index]), strip.y(control.ranges[signal.index] or 0.0)
        out.append(_ring(x, y))
    return out


def _key(shown: Drawn) -> list[KeyItem]:
    """What each shape means; shapes that are not there are not explained."""
    items: list[KeyItem] = [(marks.dot, "counts")] if shown.places.stop > shown.look.historic else []
    if shown.places.start < shown.look.historic:
        items.append((lambda x, y: "".join(_past([f"{x:.1f} {y:.1f}"])), UNVERIFIED))
    if shown.look.signals or any(s.index in shown.places for s in shown.control.range_signals):
        items.append((_square, "signals; the letters name the rule"))
    inside = [point for point in shown.look.points if point.at_s >= shown.look.start_s]
    if any(not point.counted and not point.void for point in inside):
        items.append((cross, "failed check, not counted; at the edge: further off"))
    if any(point.void for point in inside):
        items.append((marks.unused, "void, not counted"))
    items.append((lambda x, y: marks.line(x - 4, y, x + 9, y, 0.8, dash="8 3 2 3"), "centre"))
    items.append((lambda x, y: _wall(x - 6, x + 8, y + 2, True), "limit"))
    if any(i in shown.places for i, _ in shown.look.starts):
        items.append((lambda x, y: marks.line(x, y - 6, x, y + 6, 0.8, marks.FAINT, "4 3"), "a new phase begins"))
    return items

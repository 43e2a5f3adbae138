"""A control chart as one SVG text: points, phases with centre and limits, signals; told apart by shapes and letters.

dot = a point that counts; square around it with letters = it signals, the letters say by which rule; cross = a failed
check, small open circle = void, both not counted; open triangle = historical, unverified; dash-dot = centre; wall with
strokes = limit, strokes outside; dashed upright = a new phase begins, why stands above.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from isohume.foundation.metrology.charts_by_point import BEYOND_LIMITS, RANGE_BEYOND
from isohume.foundation.metrology.run_rules import RULES
from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import ROW, KeyItem, framed, key_rows
from isohume.outlets.paper.line_labels import Label, place, text_width
from isohume.outlets.paper.time_chart import cross
from isohume.outlets.paper.time_ticks import time_ticks, value_ticks
from isohume.outlets.site.charts.field import Drawn, Field
from isohume.outlets.site.charts.written import Tenths, spots, tenths
from isohume.outlets.site.incoming.models.history import UNVERIFIED

LETTERS = {**{rule: "ABCDE"[place] for place, rule in enumerate(RULES)}, BEYOND_LIMITS: "L", RANGE_BEYOND: "R"}
TALL, TALL_RANGE, RIGHT, STROKE = 150.0, 52.0, 12.0, 5.0
FEW = 8
"""So many phases are named above the picture; of more only the last ones are."""


def draw_control_chart(shown: Drawn, zone: ZoneInfo, width: float) -> str:
    """The chart of a look that has one, `width` units wide and as high as its words need."""
    size, family = shown.size, shown.family
    field, names = _field(shown, width)
    parts = [marks.words(0, size, shown.quantity, size, family), *names, *_frame(field, shown, zone)]
    across, up = field.across(shown.moments), field.up(shown.statistic)
    for inside in _phases(shown):
        parts += _phase(field, shown, inside, across, up)
    past = max(0, shown.look.historic - shown.places.start)
    parts += [*_past(across[:past], up[:past]), *_dots(across[past:], up[past:])]
    parts += [*_uncounted(field, shown), *_signals(field, shown)]
    below = field.bottom + 2.9 * size
    if shown.control.rules.kind == "individuals":
        parts += _ranges(field, shown, across, below)
        below += TALL_RANGE + 3.0 * size
    more, bottom = key_rows(_key(shown), width, below, size, family)
    return framed(shown.title, width, bottom, parts + more)


def _field(shown: Drawn, width: float) -> tuple[Field, list[str]]:
    """The field under the names of its phases."""
    size = shown.size
    values = shown.statistic, shown.lower, shown.upper
    low, high = float(min(one.min() for one in values)), float(max(one.max() for one in values))
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


def _frame(field: Field, shown: Drawn, zone: ZoneInfo) -> list[str]:
    size, family = shown.size, shown.family
    out = [marks.line(field.left, field.top, field.left, field.bottom, 0.8)]
    for value, text in value_ticks(field.low, field.high):
        plain = text.lstrip("+") if shown.look.chart.product_id and shown.control.rules.kind != "cusum" else text
        y = field.y(value)
        out.append(marks.line(field.left - 4, y, field.left, y, 0.8))
        out.append(marks.words(field.left - 6, y + size * 0.33, plain, size, family, "end"))
    out.append(marks.line(field.left, field.bottom, field.right, field.bottom, 1.2))
    most = max(2, int((field.right - field.left) / (text_width("0000-00-00", size) * 1.25)))
    first, last = (datetime.fromtimestamp(end, zone) for end in (field.first, field.last))
    for at, text in time_ticks(first, last, most):
        x = field.x(at.timestamp())
        half = text_width(text, size) / 2
        inside = min(max(x, half), field.right + RIGHT - half)
        out.append(marks.line(x, field.bottom, x, field.bottom + 5, 0.8))
        out.append(marks.words(inside, field.bottom + 7 + size, text, size, family, "middle"))
    return out


def _phases(shown: Drawn) -> Iterator[range]:
    for phase in shown.control.phases:
        inside = range(max(phase.start, shown.places.start), phase.end)
        if inside:
            yield inside


def _phase(field: Field, shown: Drawn, places: range, across: Tenths, up: Tenths) -> list[str]:
    """Thread, centre and limits of one phase."""
    control, inside = shown.control, shown.inside(places)
    left, right = field.x(shown.at[places[0]]) - 3, field.x(shown.at[places[-1]]) + 3
    phase = next(p for p in control.phases if p.start <= places.start < p.end)
    y = field.y(0.0 if control.rules.kind == "cusum" else phase.center)
    out = [f'<g class="centre">{marks.line(left, y, right, y, 0.8, dash="8 3 2 3")}</g>']
    out.append(_path(across[inside], up[inside], 0.6, marks.FAINT))
    reach = field.high - field.low
    for above, limits in ((False, shown.lower), (True, shown.upper)):
        edges = limits[inside]
        if edges.max() - edges.min() < 1e-6 * reach:
            out.append(_wall(left, right, field.y(float(edges[0])), above))
        else:
            out.append(_path(across[inside], field.up(edges), 1.6, marks.INK))
            settled = int(np.argmax(np.abs(edges - edges[-1]) < 1e-3 * reach))
            out.append(_strokes(field.x(shown.at[places[settled]]), right, field.y(float(edges[-1])), above))
    return out


def _path(across: Tenths, up: Tenths, width: float, ink: str) -> str:
    return f'<path d="M{spots(across, up)}" fill="none" stroke="{ink}" stroke-width="{width}"/>'


def _wall(left: float, right: float, y: float, above: bool) -> str:
    return f'<g class="limit">{marks.line(left, y, right, y, 1.6)}{_strokes(left, right, y, above)}</g>'


def _strokes(left: float, right: float, y: float, above: bool) -> str:
    """Strokes on the side that is outside the limit, as one path; each begins so far from the last one's end."""
    rise, first = -STROKE if above else STROKE, left + STROKE
    more = int((right - STROKE - first) // (3 * STROKE))
    if more < 0:
        return ""
    stroke, on = f"l{STROKE:g} {rise:g}", f"m{2 * STROKE:g} {-rise:g}"
    steps = f"M{first:.1f} {y:.1f}{stroke}{(on + stroke) * more}"
    return f'<path d="{steps}" fill="none" stroke="{marks.INK}" stroke-width="0.9"/>'


def _dots(across: Tenths, up: Tenths) -> list[str]:
    """All points that count, as one path of round ends."""
    if not across.size:
        return []
    wide = 4.4 if len(across) <= 150 else 3.2
    look = f'fill="none" stroke="{marks.INK}" stroke-width="{wide}" stroke-linecap="round"'
    return [f'<path class="within" d="M{spots(across, up, "h0M")}h0" {look}/>']


def _past(across: Tenths, up: Tenths) -> list[str]:
    """Past checks from spreadsheets: open triangles, as one path."""
    if not across.size:
        return []
    corners = "m0 -3.4l3.2 5.6h-6.4z"
    look = f'fill="{marks.PAPER}" stroke="{marks.INK}" stroke-width="0.9"'
    return [f'<path class="historic" d="M{spots(across, up, corners + "M")}{corners}" {look}/>']


def _uncounted(field: Field, shown: Drawn) -> list[str]:
    """Failed and void ones at their value; beyond the picture at its edge. Averages and sums have no such points."""
    out = []
    level = None if shown.control.rules.kind != "cusum" else 0.0
    for point in shown.aside:
        if field.first <= point.at_s <= field.last:
            x, y = field.x(point.at_s), field.y(point.value if level is None else level)
            out.append(marks.unused(x, y) if point.void else cross(x, y))
    return out


def _signals(field: Field, shown: Drawn) -> list[str]:
    """A square around each point that signals; the letter where a rule begins to speak, above or below it."""
    last: dict[str, int] = {}
    named: dict[int, str] = {}
    sides: dict[int, int] = {}
    for signal in shown.signals:
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


def _ranges(field: Field, shown: Drawn, across: Tenths, top: float) -> list[str]:
    """The moving ranges in a strip of their own, with their limit in each phase."""
    control, size = shown.control, shown.size
    limits = [phase.range_limit for phase in control.phases if phase.end > shown.places.start]
    known = ~np.isnan(shown.ranges)
    high = 1.1 * max([*limits, float(shown.ranges.max(initial=-np.inf, where=known))])
    strip = Field(field.first, field.last, 0.0, high, field.left, field.right, top + 1.4 * size, TALL_RANGE)
    out = [marks.words(0, top + 0.6 * size, "moving range", size, shown.family)]
    out.append(marks.line(strip.left, strip.bottom, strip.right, strip.bottom, 1.2))
    out.append(marks.line(strip.left, strip.top, strip.left, strip.bottom, 0.8))
    for value, text in value_ticks(0.0, high, 3):
        if value:
            out.append(
                marks.words(strip.left - 6, strip.y(value) + size * 0.33, text.lstrip("+"), size, shown.family, "end")
            )
    up = strip.up(np.where(known, shown.ranges, 0.0))
    for places in _phases(shown):
        phase = next(p for p in control.phases if p.start <= places.start < p.end)
        stepped = places[1:] if places.start == phase.start else places
        if len(stepped) > 1:
            inside = shown.inside(stepped)
            out.append(_path(across[inside], up[inside], 0.9, marks.INK))
            left, right = (strip.x(shown.at[end]) for end in (stepped[0], stepped[-1]))
            out.append(_wall(left - 3, right + 3, strip.y(phase.range_limit), True))
    beyond = [s for s in control.range_signals if s.index in shown.places]
    for signal in beyond:
        x, y = strip.x(shown.at[signal.index]), strip.y(control.ranges[signal.index] or 0.0)
        out.append(_ring(x, y))
    return out


def _key(shown: Drawn) -> list[KeyItem]:
    """What each shape means; shapes that are not there are not explained."""
    items: list[KeyItem] = [(marks.dot, "counts")] if shown.places.stop > shown.look.historic else []
    if shown.places.start < shown.look.historic:
        items.append((lambda x, y: "".join(_past(tenths(np.array([x])), tenths(np.array([y])))), UNVERIFIED))
    if shown.signals or any(s.index in shown.places for s in shown.control.range_signals):
        items.append((_square, "signals; the letters name the rule"))
    if any(not point.void for point in shown.aside):
        items.append((cross, "failed check, not counted; at the edge: further off"))
    if any(point.void for point in shown.aside):
        items.append((marks.unused, "void, not counted"))
    items.append((lambda x, y: marks.line(x - 4, y, x + 9, y, 0.8, dash="8 3 2 3"), "centre"))
    items.append((lambda x, y: _wall(x - 6, x + 8, y + 2, True), "limit"))
    if any(i in shown.places for i, _ in shown.look.starts):
        items.append((lambda x, y: marks.line(x, y - 6, x, y + 6, 0.8, marks.FAINT, "4 3"), "a new phase begins"))
    return items


def _ring(x: float, y: float) -> str:
    """The square around a point that signals."""
    look = f'width="9" height="9" fill="none" stroke="{marks.INK}" stroke-width="1.4"'
    return f'<rect class="signal" x="{x - 4.5:.1f}" y="{y - 4.5:.1f}" {look}/>'


def _square(x: float, y: float) -> str:
    return _ring(x, y) + marks.dot(x, y)

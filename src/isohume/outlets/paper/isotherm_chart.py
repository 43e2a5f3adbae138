"""An isotherm as one SVG text, in the manner of the a_w line: shapes and words, no colour needed.

dot = adsorption, square = desorption, small open circle = outside the range of the drawn curve; full curve =
adsorption, dashed curve = desorption, thin curves beside it = the ends of its band; wall with strokes = the a_w limit;
bars on the axes = the interval of the moisture at the limit, and of a_w at that moisture. Dry basis stands on the left,
wet basis on the right.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from isohume.foundation.quantity.moisture import dry_from_wet, wet_from_dry
from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.isotherm_spec import IsothermSpec, SorptionCurve, SorptionLimit, SorptionPoint
from isohume.outlets.paper.line_frame import KeyItem, framed, key_rows
from isohume.outlets.paper.line_labels import text_width
from isohume.outlets.paper.time_ticks import value_ticks

WIDTH, FONT_SIZE, FAMILY = 420.0, 9.5, "Libertinus Serif, serif"
TALL = 0.62  # height of the field over its width
LOWEST_FIELD, TALLEST_FIELD = 190.0, 320.0
AIR = 6.0
DASH = "7 3"


@dataclass(frozen=True, slots=True)
class Field:
    """The field of the picture: a_w across, moisture on dry basis upwards."""

    low: float
    high: float
    top_moisture: float
    left: float
    right: float
    top: float
    bottom: float

    def x(self, a_w: float) -> float:
        """Where an a_w stands."""
        return self.left + (a_w - self.low) / (self.high - self.low) * (self.right - self.left)

    def y(self, moisture_db: float) -> float:
        """Where a moisture stands."""
        return self.bottom - moisture_db / self.top_moisture * (self.bottom - self.top)


def draw_isotherm(spec: IsothermSpec, width: float = WIDTH, font_size: float = FONT_SIZE, family: str = FAMILY) -> str:
    """The isotherm as one SVG text, `width` units wide and as high as its words need."""
    field = _field(spec, width, font_size)
    parts = _heads(field, width, font_size, family) + _across(field, font_size, family)
    parts += _upwards(field, font_size, family)
    for curve in spec.curves:
        parts += _band(field, curve)
    if spec.limit is not None:
        parts += _limit(field, spec.limit)
    parts += [_line(field, curve.a_w, curve.moisture_db, 1.6, dashed(curve)) for curve in spec.curves]
    parts += [_point(field, point) for point in spec.points]
    below = field.bottom + 4.4 * font_size
    more, bottom = key_rows(_key(spec), width, below, font_size, family)
    return framed(spec.title, width, bottom, parts + more)


def _field(spec: IsothermSpec, width: float, size: float) -> Field:
    highest = max(
        [point.moisture_db for point in spec.points] + [m for c in spec.curves for m in (c.high or c.moisture_db)]
    )
    top_moisture = max(1.06 * highest, 1e-6)
    left = 12 + max(text_width(text, size) for _, text in _dry_ticks(top_moisture))
    right = width - 12 - max(text_width(text, size) for _, text in _wet_ticks(top_moisture))
    tall = min(max(TALL * (right - left), LOWEST_FIELD), TALLEST_FIELD)
    top = 2.2 * size
    return Field(0.0, 1.0, top_moisture, left, right, top, top + tall)


def _dry_ticks(top: float) -> list[tuple[float, str]]:
    return [(value, text.lstrip("+")) for value, text in value_ticks(0.0, top)]


def _wet_ticks(top: float) -> list[tuple[float, str]]:
    """Whole steps of wet basis at the moisture on dry basis they belong to."""
    return [
        (float(dry_from_wet(value / 100)), text.lstrip("+"))
        for value, text in value_ticks(0.0, 100 * float(wet_from_dry(top)))
    ]


def _heads(field: Field, width: float, size: float, family: str) -> list[str]:
    middle = (field.left + field.right) / 2
    return [
        marks.words(0, size, "moisture, kg/kg dry basis", size, family),
        marks.words(width, size, "% wet basis", size, family, "end"),
        marks.words(middle, field.bottom + 3.1 * size, "water activity a_w", size, family, "middle"),
    ]


def _across(field: Field, size: float, family: str) -> list[str]:
    out = [marks.line(field.left, field.bottom, field.right, field.bottom, 1.2)]
    for tenth in range(0, 11, 1 if field.right - field.left > 24 * size else 2):
        x = field.x(tenth / 10)
        out.append(marks.line(x, field.bottom, x, field.bottom + 4, 0.8))
        out.append(marks.words(x, field.bottom + 6 + size, f"{tenth / 10:.1f}", size, family, "middle"))
    return out


def _upwards(field: Field, size: float, family: str) -> list[str]:
    """Dry basis on the left, wet basis on the right."""
    out = [marks.line(x, field.top, x, field.bottom, 0.8) for x in (field.left, field.right)]
    for value, text in _dry_ticks(field.top_moisture):
        y = field.y(value)
        out.append(marks.line(field.left - 4, y, field.left, y, 0.8))
        out.append(marks.words(field.left - 7, y + size * 0.33, text, size, family, "end"))
    for value, text in _wet_ticks(field.top_moisture):
        y = field.y(value)
        out.append(marks.line(field.right, y, field.right + 4, y, 0.8))
        out.append(marks.words(field.right + 7, y + size * 0.33, text, size, family))
    return out


def dashed(curve: SorptionCurve) -> str:
    """Desorption is dashed."""
    return DASH if curve.direction == "desorption" else ""


def _line(
    field: Field, a_w: Sequence[float], moisture: Sequence[float], width: float, dash: str, ink: str = marks.INK
) -> str:
    path = " ".join(
        f"{marks.number(field.x(a))},{marks.number(field.y(m))}" for a, m in zip(a_w, moisture, strict=True)
    )
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    pen = f'fill="none" stroke="{ink}" stroke-width="{marks.number(width)}"{dashes}'
    return f'<polyline class="curve" points="{path}" {pen}/>'


def _band(field: Field, curve: SorptionCurve) -> list[str]:
    """The ends of the band as thin lines: what lies between them needs no ink."""
    ends = [end for end in (curve.low, curve.high) if end]
    return [_line(field, curve.a_w, [max(m, 0.0) for m in end], 0.7, dashed(curve), marks.FAINT) for end in ends]


def _limit(field: Field, limit: SorptionLimit) -> list[str]:
    """The wall at the a_w limit, read over to the moisture axis, and back down to the a_w axis."""
    x, y = field.x(limit.a_w), field.y(limit.moisture_db)
    out = [marks.wall(x, field.top, field.bottom, True)]
    high, low = field.y(limit.high), field.y(limit.low)
    out += [marks.line(field.left, end, x, end, 0.7, marks.FAINT, "2 3") for end in (low, high)]
    bar = [marks.line(field.left + AIR, high, field.left + AIR, low, 3.0)]
    bar += [marks.line(field.left + 2, end, field.left + 2 * AIR - 2, end, 1.4) for end in (high, low)]
    left, right, foot = field.x(limit.a_w_low), field.x(limit.a_w_high), field.bottom - AIR
    bar += [marks.line(left, foot, right, foot, 3.0)]
    bar += [marks.line(end, foot - 4, end, foot + 4, 1.4) for end in (left, right)]
    out += ['<g class="interval">' + "".join(bar) + "</g>", marks.lozenge(x, y)]
    return out


def _point(field: Field, point: SorptionPoint) -> str:
    x, y = field.x(point.a_w), field.y(point.moisture_db)
    if not point.used:
        return marks.unused(x, y)
    return square(x, y) if point.direction == "desorption" else dot(x, y)


def dot(x: float, y: float) -> str:
    """A point of adsorption."""
    return f'<circle class="adsorption" cx="{marks.number(x)}" cy="{marks.number(y)}" r="2.6" fill="{marks.INK}"/>'


def square(x: float, y: float) -> str:
    """A point of desorption."""
    place = f'x="{marks.number(x - 2.6)}" y="{marks.number(y - 2.6)}" width="5.2" height="5.2"'
    return f'<rect class="desorption" {place} fill="{marks.PAPER}" stroke="{marks.INK}" stroke-width="1.2"/>'


def _key(spec: IsothermSpec) -> list[KeyItem]:
    """What each shape of this picture means; shapes that are not there are not explained."""
    used = {point.direction for point in spec.points if point.used}
    out: list[KeyItem] = [(shape, f"{name}, measured") for name, shape in _SHAPES if name in used]
    if not all(point.used for point in spec.points):
        out.append((marks.unused, "outside the range of the curve"))
    out += [(_sample(dashed(curve), 1.6), f"{curve.name}, {curve.direction}") for curve in spec.curves]
    if any(curve.low for curve in spec.curves):
        out.append((_sample("", 0.7, marks.FAINT), f"ends of the {spec.band} band"))
    if spec.limit is not None:
        out.append((_wall_sample, f"a_w limit {spec.limit.a_w:g}"))
        out.append((_bar_sample, "interval of moisture at it, of a_w at that moisture"))
    return out


_SHAPES = (("adsorption", dot), ("desorption", square))


def _sample(dash: str, width: float, ink: str = marks.INK) -> Callable[[float, float], str]:
    return lambda x, y: marks.line(x - 7, y, x + 7, y, width, ink, dash)


def _wall_sample(x: float, y: float) -> str:
    return marks.wall(x, y - 6, y + 6, True)


def _bar_sample(x: float, y: float) -> str:
    return marks.line(x - 6, y, x + 6, y, 3.0) + "".join(
        marks.line(end, y - 4, end, y + 4, 1.4) for end in (x - 6, x + 6)
    )


def isotherm_table(spec: IsothermSpec) -> tuple[tuple[str, str, str, str], ...]:
    """The picture as rows of what, a_w, moisture on dry basis and on wet basis: points, limit, each curve by tenths."""
    rows = [_row(f"{p.direction}, measured", p.a_w, p.moisture_db) for p in spec.points]
    if spec.limit is not None:
        one = spec.limit
        dry, wet = f"{one.low:.4f} to {one.high:.4f}", f"{_wet(one.low)} to {_wet(one.high)}"
        rows.append(("a_w limit", f"{one.a_w:g}", dry, wet))
    for curve in spec.curves:
        for place in _tenths(curve):
            band = f" ({curve.low[place]:.4f} to {curve.high[place]:.4f})" if curve.low else ""
            what, a_w, dry, wet = _row(f"{curve.name}, {curve.direction}", curve.a_w[place], curve.moisture_db[place])
            rows.append((what, a_w, dry + band, wet))
    return tuple(rows)


def _row(what: str, a_w: float, moisture: float) -> tuple[str, str, str, str]:
    return what, f"{a_w:.4g}", f"{moisture:.4f}", _wet(moisture)


def _wet(moisture: float) -> str:
    return f"{100 * float(wet_from_dry(max(moisture, 0.0))):.2f}"


def _tenths(curve: SorptionCurve) -> list[int]:
    """Both ends, and the saved place nearest to every tenth between them."""
    inside = [t / 10 for t in range(1, 10) if curve.a_w[0] < t / 10 < curve.a_w[-1]]
    return sorted({0, *(_nearest(curve.a_w, at) for at in inside), len(curve.a_w) - 1})


def _nearest(places: Sequence[float], at: float) -> int:
    return min(range(len(places)), key=lambda i: abs(places[i] - at))

"""The table beside a chart's picture: its points as rows, the newest first; made as text, for a year has many.

A row that was written before is not written again while it says the same: a new check adds one row to a thousand.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar
from zoneinfo import ZoneInfo

from django.urls import reverse
from markupsafe import Markup

from isohume.outlets.site.charts.seen import SeenPoints
from isohume.outlets.site.charts.series import Look
from isohume.outlets.site.charts.written import MINUS, each, moments
from isohume.outlets.site.incoming.models.history import UNVERIFIED

One = TypeVar("One")


@dataclass(frozen=True, slots=True)
class Cells:
    """What rows say: their points, what is drawn of each and its limits where it counts, and what is said of it."""

    points: SeenPoints
    drawn: Sequence[float | None]
    limits: Sequence[tuple[float, float] | None]
    said: Sequence[str]

    def __len__(self) -> int:
        return len(self.points)

    def part(self, part: slice) -> Cells:
        """Those of some rows."""
        return Cells(self.points[part], self.drawn[part], self.limits[part], self.said[part])


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of a chart, the oldest first: what each says and how that is written, in a plant's time."""

    zone: ZoneInfo
    cells: Cells
    written: Sequence[bytes]

    def text(self) -> bytes:
        """The newest first."""
        return b"".join(reversed(self.written))


def table_rows(look: Look, zone: ZoneInfo) -> Markup:
    """The points of the span: when, value, what is drawn, its limits, what is said of it."""
    return Markup(rows_of(look, zone).text().decode())


def rows_of(look: Look, zone: ZoneInfo, before: Rows | None = None) -> Rows:
    """The rows of a look; `before`: those of an earlier look at the same chart, of which what still holds is taken."""
    cells = _cells(look)
    known = _held(before, cells) if before is not None and before.zone == zone else []
    return Rows(zone, cells, [*known, *_written(look, zone, cells.part(slice(len(known), None)))])


def _held(before: Rows, cells: Cells) -> Sequence[bytes]:
    """The rows written before with which these cells begin, unless one of them would now be another."""
    if not len(cells):
        return []
    first = bisect_left(before.cells.points.at_s, cells.points.at_s[0])
    held = before.cells.part(slice(first, None))
    return before.written[first:] if held == cells.part(slice(len(held))) else []


def _cells(look: Look) -> Cells:
    control = look.control
    inside = look.points[bisect_left(look.points.at_s, look.start_s) :]
    if control is None or not inside:
        return Cells(SeenPoints(), (), (), ())
    begun = len(look.counted) - sum(inside.counted)
    drawn, limits = control.statistic[begun:], control.limits[begun:]
    return Cells(inside, _spread(drawn, inside.counted), _spread(limits, inside.counted), _said(look, begun, inside))


def _spread(values: Sequence[One], counted: Sequence[bool]) -> Sequence[One | None]:
    """The values of points that count, with nothing at the others."""
    if len(values) == len(counted):
        return values
    left = iter(values)
    return tuple([next(left) if one else None for one in counted])


def _said(look: Look, begun: int, inside: SeenPoints) -> tuple[str, ...]:
    """The rules that speak at each, or why it does not count."""
    rules: dict[int, list[str]] = {}
    for signal in look.signals:
        rules.setdefault(signal.index, []).append(signal.rule)
    words = [", ".join(rules[place]) if place in rules else "" for place in range(begun, len(look.counted))]
    if len(words) == len(inside) and not look.historic:
        return tuple(words)
    left, said = iter(words), []
    for counted, void, historic in zip(inside.counted, inside.void, inside.historic, strict=True):
        if counted:
            rule = next(left)
            said.append(UNVERIFIED if historic else rule)
        else:
            said.append("void" if void else "failed, not counted")
    return tuple(said)


def _written(look: Look, zone: ZoneInfo, cells: Cells) -> list[bytes]:
    if not len(cells):
        return []
    own, past = (
        reverse(name, args=[0]).removesuffix("0/")
        for name in ("lot" if look.chart.product_id else "check", "historicfile")
    )
    form = "%.4f" if look.chart.product_id else "%+.5f"
    points, drawn, historic = cells.points, cells.drawn, cells.points.historic
    when, leads = moments(points.at_s, zone), [own] * len(cells)
    if any(historic):
        when = [text[:10] if one else text for text, one in zip(when, historic, strict=True)]
        leads = [past if one else own for one in historic]
    read = each(form, points.value)
    single = look.rules.kind == "individuals"  # these are drawn as they were read
    shown = [text if one is not None else "" for text, one in zip(read, drawn, strict=True)] if single else None
    rows = [
        f'<tr><th scope="row"><a href="{lead}{number}/">{moment}</a></th><td class="number">{value}</td>'
        f'<td class="number">{one}</td><td class="number">{edges}</td><td>{words}</td></tr>'
        for lead, number, moment, value, one, edges, words in zip(
            leads,
            points.of,
            when,
            read,
            shown or _each_known(form, drawn),
            _edges(form, cells.limits),
            cells.said,
            strict=True,
        )
    ]
    return "\n".join(rows).encode().split(b"\n")


def _each_known(form: str, values: Sequence[float | None]) -> list[str]:
    known = [value for value in values if value is not None]
    texts = each(form, known)
    if len(known) == len(values):
        return texts
    left = iter(texts)
    return ["" if value is None else next(left) for value in values]


def _edges(form: str, limits: Sequence[tuple[float, float] | None]) -> list[str]:
    """Limits as words; a pair that holds for many points is written once."""
    words = {pair: (f"{form} to {form}" % pair).replace("-", MINUS) for pair in set(limits) if pair is not None}
    return [words[pair] if pair is not None else "" for pair in limits]

"""What the pages of adjustments show: rows of references, the walk as a picture."""

from __future__ import annotations

from collections.abc import Iterable
from zoneinfo import ZoneInfo

from isohume.bench.assurance import Correction as Line
from isohume.bench.assurance import ReadReference, Walked
from isohume.outlets.paper.time_spec import TimeLimits, TimePoint
from isohume.outlets.site.adjustments.models import InstrumentAdjustment
from isohume.outlets.site.adjustments.queries import as_left_of, judged_as_read
from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.look.screen_line import ScreenLine, screen_chart

NONE = "–"


def reference_rows(line: Line, references: Iterable[ReadReference]) -> list[list[str]]:
    """Each reference as read, as it should be, corrected, what is left, and the u of the line there."""
    rows = []
    for one in references:
        corrected = line.on_line(one.read)
        left = f"{one.expected - corrected:+.4f}"
        shown = [f"{one.read:.4f}", f"{one.expected:.4f}", f"{corrected:.4f}", left, f"{line.u_line(one.read):.4f}"]
        rows.append([one.name, *shown])
    return rows


def compared(adjustment: InstrumentAdjustment) -> tuple[InstrumentAdjustment, Check | None, list[list[str]]]:
    """An adjustment with its as-left check and its references as found and as left, ours and the report's."""
    as_left = as_left_of(adjustment)
    before = {named(s.solution, s.molality): s for s in judged_as_read(adjustment.as_found).solutions}
    after = {named(s.solution, s.molality): s for s in judged_as_read(as_left).solutions} if as_left else {}
    rows = []
    for name in sorted({**before, **after}, key=lambda n: (before.get(n) or after[n]).expected):
        found, left = before.get(name), after.get(name)
        expected = (found or left).expected  # type: ignore[union-attr]  # one of the two has it
        sides = [
            text for s in (found, left) for text in (_read(s.mean if s else None), _off(s.deviation if s else None))
        ]
        rows.append([name, f"{expected:.4f}", *sides, "our checks"])
    rows += [[r["reference"], NONE, r["as_found"], NONE, r["as_left"], NONE, "the report"] for r in adjustment.readings]
    return adjustment, as_left, rows


def walk_chart(walked: Iterable[Walked], cap: float, zone: ZoneInfo, name: str) -> ScreenLine | None:
    """All changes of scale together over time, against the cap; None where there was none."""
    points = [
        TimePoint(
            one.move.at.astimezone(zone), one.total, "within" if abs(one.total) <= cap else "beyond", one.move.what
        )
        for one in walked
    ]
    if not points:
        return None
    return screen_chart(points, centre=None, limits=TimeLimits(-cap, cap), title=f"Walk of {name}", breaks=[])


def _read(value: float | None) -> str:
    return NONE if value is None else f"{value:.4f}"


def _off(value: float | None) -> str:
    return NONE if value is None else f"{value:+.4f}"

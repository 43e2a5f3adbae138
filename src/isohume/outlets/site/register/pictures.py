"""The drawn pictures of the register: deviations in time, a specification on the a_w line, a scan code."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from markupsafe import Markup

from isohume.foundation.quantity.limits import Limit
from isohume.outlets.paper.line_spec import LimitMark, LineSpec, Reference, Speaks, ValueMark, fitted
from isohume.outlets.paper.qr import qr_svg
from isohume.outlets.paper.time_chart import draw_time_chart, time_chart_table
from isohume.outlets.paper.time_spec import PointState, TimeBreak, TimeLimits, TimePoint
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.standing_of import guard_band, limits_of
from isohume.outlets.site.look.screen_line import FAMILY, FONT_SIZE
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.register.drift import Trace
from isohume.outlets.site.register.models import SpecificationVersion

CHART_WIDTH = 440.0
MOST_LOTS = 8
SCAN_SIZE = 132


@dataclass(frozen=True, slots=True)
class Chart:
    """A drawn chart with its table."""

    svg: Markup
    rows: tuple[tuple[str, str, str, str], ...]


def chart_of(points: Sequence[TimePoint], breaks: Sequence[TimeBreak], limit: float, title: str) -> Chart:
    """Deviations in time between their limits."""
    limits = TimeLimits(-limit, limit)
    svg = draw_time_chart(
        points,
        centre=None,
        limits=limits,
        title=title,
        unit="a_w",
        breaks=breaks,
        width=CHART_WIDTH,
        font_size=FONT_SIZE,
        family=FAMILY,
    )
    rows = tuple((row.at, row.deviation, row.state, row.words) for row in time_chart_table(points, breaks))
    return Chart(Markup(svg), rows)


def trace_chart(trace: Trace, zone: ZoneInfo) -> Chart:
    """One reference on one instrument: a point a check, an upright where another bottle was read."""
    points, breaks, before = [], [], None
    for one in trace.found:
        at = one.check.last_read_at.astimezone(zone)
        state: PointState = "void" if one.check.voided_at else "within" if one.within else "beyond"
        points.append(TimePoint(at, one.deviation, state, f"{one.check.kind} check {one.check.pk}"))
        if before is not None and one.lots and one.lots != before:
            breaks.append(TimeBreak(at, "another bottle"))
        before = one.lots or before
    return chart_of(points, breaks, trace.limit, f"Deviations of {trace.reference}")


def specification_line(spec: SpecificationVersion, records: Sequence[LotRecord] = ()) -> LineSpec:
    """Limits with their guard bands by the method in force, where a lot is expected, what the last lots were."""
    version = spec.product.method.current
    guard = guard_band(spec, version) if version is not None else None
    marks = [_mark(limit, None if guard is None else limit.moved(guard)) for limit in limits_of(spec)]
    values = [
        ValueMark(record.lot.code, record.value, f"{record.value:.4f}", "reading", note=f"lot, {record.verdict}")
        for record in records[:MOST_LOTS]
        if record.value is not None and 0 <= record.value <= 1
    ]
    if spec.expected_a_w:
        values.append(ValueMark("a lot", float(spec.expected_a_w), spec.expected_a_w, "expected"))
    return fitted(f"What {spec.product.name} may be", limits=marks, values=values)


Solution = tuple[str, float | None]
"""A solution by its key and molality; None is saturated."""


def references_line(values: Mapping[Solution, float], last_read: Mapping[Solution, Mapping[str, Any]]) -> LineSpec:
    """Reference solutions where they should read, and how each read in the last check it was in.

    values: where each should read at 25 degC. last_read: a checked solution of a check's result.
    """
    references = []
    for solution, a_w in values.items():
        read = last_read.get(solution)
        if read is None:
            references.append(Reference(_called(*solution), a_w))
        else:
            references.append(Reference(_called(*solution), read["expected"], read["mean"], read["within"]))
    return fitted("Reference solutions of the plant", references=references)


def _called(solution: str, molality: float | None) -> str:
    return solution + ("" if molality is None else f" {molality:g} mol/kg")


def standing_line(check: Check, covers: tuple[float, float] | None) -> LineSpec:
    """The references of a check, where they should be and where they read, and where the instrument may speak now."""
    references = []
    for solution in check.result["solutions"]:
        name = _called(solution["solution"], solution["molality"])
        references.append(Reference(name, solution["expected"], solution["mean"], solution["within"]))
    title = f"Last check of {check.instrument.name}"
    return fitted(title, references, Speaks(*covers) if covers else None)


def _mark(limit: Limit, acceptance: Limit | None) -> LimitMark:
    accepted = None if acceptance is None else float(acceptance.value)
    return LimitMark(
        float(limit.value),
        limit.operator,
        str(limit.value),
        accepted,
        "" if accepted is None else f"{accepted:.4f}",
    )


def scan_mark(code: str) -> Markup:
    """A scan code as a picture on its own white paper, so that it reads in the dark theme too."""
    bare = re.sub(r' width="\d+" height="\d+"', f' width="{SCAN_SIZE}" height="{SCAN_SIZE}"', qr_svg(code), count=1)
    named = bare.replace("<svg ", f'<svg role="img" aria-label="Scan code {code}" ', 1)
    return Markup(named.replace("<path ", '<rect width="100%" height="100%" fill="#ffffff"/><path ', 1))

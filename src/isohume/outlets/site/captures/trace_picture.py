"""The picture of a captured trace and the table beside it: one drawing for screen and paper."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import NamedTuple

from markupsafe import Markup

from isohume.bench.reading.settling import Sample
from isohume.outlets.paper.xy_spec import XyLine, XyPoint, XySpec
from isohume.outlets.site.captures.judged import Judged
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.comparisons.pictures import drawn
from isohume.outlets.site.config.words import clock

MOST_POINTS, MOST_ROWS = 600, 40
_SHOWN = ("a_w", "sample_temperature_c", "block_temperature_c", "room_humidity")


class TracePicture(NamedTuple):
    """The drawing and the rows that say the same."""

    svg: Markup
    rows: list[tuple[str, ...]]


def picture_of(run: CapturedRun, judged: Judged) -> TracePicture | None:
    """The trace as it was read, with the forecast's band and where the criterion was met; None without a reading."""
    if not judged.usable:
        return None
    return TracePicture(drawn(spec_of(run, judged)), rows_of(run, judged))


def spec_of(run: CapturedRun, judged: Judged) -> XySpec:
    """What is drawn; a long trace is thinned for the picture only."""
    trace = [(float(one.elapsed_s), float(one.a_w)) for one in _thinned(judged.usable, MOST_POINTS)]
    found, levels = judged.found, []
    if found is not None and found.forecast is not None and found.settled_at_s is None:
        ends = (("forecast of the end", found.forecast.value, "6 3"), ("95 % of it", found.forecast.low, "2 3"),
                ("95 % of it", found.forecast.high, "2 3"))  # fmt: skip
        levels = [XyLine(name, ((0.0, value), (1.0, value)), dash, 1.0) for name, value, dash in ends]
    position = judged.settled_position
    points = [XyPoint(*trace[0])] if len(trace) == 1 else []
    if position is not None:
        met = judged.usable[position]
        points.append(XyPoint(float(met.elapsed_s), float(met.a_w), "lozenge"))
    return XySpec(
        title=f"Trace of {run.named} on {run.instrument.name}",
        x_title="seconds since the run began",
        y_title="a_w as read",
        points=tuple(points),
        lines=(XyLine("as read", tuple(trace), "", 1.4),) if len(trace) > 1 else (),
        levels=tuple(levels),
        mark_names=(("lozenge", "the criterion was met here"), ("dot", "the only reading")),
    )


def rows_of(run: CapturedRun, judged: Judged) -> list[tuple[str, ...]]:
    """The trace as a table: so many rows that a person can read, the one that counts always among them."""
    position = judged.settled_position
    shown = _thinned(judged.usable, MOST_ROWS)
    if position is not None and judged.usable[position] not in shown:
        shown = sorted([*shown, judged.usable[position]], key=lambda one: one.elapsed_s)
    met = judged.usable[position] if position is not None else None
    return [_row(run, one, "the criterion was met" if one is met else one.state) for one in shown]


def _row(run: CapturedRun, one: Sample, said: str) -> tuple[str, ...]:
    at: datetime = run.started_at + timedelta(seconds=float(one.elapsed_s))
    numbers = (getattr(one, name) for name in _SHOWN)
    return (f"{one.elapsed_s:f}", clock(at), *("" if number is None else f"{number:f}" for number in numbers), said)


def _thinned(samples: tuple[Sample, ...], most: int) -> list[Sample]:
    """Evenly, with the first and the last."""
    if len(samples) <= most:
        return list(samples)
    step = (len(samples) - 1) / (most - 1)
    return [samples[round(n * step)] for n in range(most)]

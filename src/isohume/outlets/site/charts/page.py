"""What a chart's page says: the answer, signals as runs of points, phases, the table beside the picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from markupsafe import Markup

from isohume.foundation.metrology.charts_by_point import FEWEST_FOR_LIMITS
from isohume.outlets.site.charts.drawing import LETTERS, draw_control_chart
from isohume.outlets.site.charts.field import drawn_of
from isohume.outlets.site.charts.rules import what_to_do
from isohume.outlets.site.charts.series import FEWEST, Look
from isohume.outlets.site.charts.told import Told
from isohume.outlets.site.incoming.models.history import UNVERIFIED
from isohume.outlets.site.look.screen_line import ACROSS, ACROSS_SMALL, FAMILY, FONT_SIZE
from isohume.outlets.site.lots.models import Deviation

SPANS = {"month": timedelta(days=30), "quarter": timedelta(days=91), "year": timedelta(days=365)}
MOST_RUNS = 12


@dataclass(slots=True)
class RunOfSignals:
    """Points at which one rule speaks of the same stretch."""

    rule: str
    side: int
    begun: datetime
    first: int
    last: int
    until: datetime
    to_do: str = ""
    task: Deviation | None = None

    @property
    def letter(self) -> str:
        """As the picture names the rule."""
        return LETTERS[self.rule]

    @property
    def words(self) -> str:
        """What it is."""
        up, down = ("rising", "falling") if "trend" in self.rule else ("high", "low")
        return f"{self.rule}, {up if self.side > 0 else down}"


@dataclass(frozen=True, slots=True)
class PhaseRow:
    """A phase as the page tells it."""

    since: datetime
    why: str
    center: float
    sigma: float
    baseline: int
    points: int
    past: bool = False
    seeded: bool = False

    @property
    def said(self) -> str:
        """How far it may be believed."""
        if self.past:
            return ""
        if self.sigma == 0.0:
            return "values all alike: no limits, and nothing is judged"
        if self.seeded:
            return f"limits from {UNVERIFIED} checks until there are {FEWEST} own points"
        if self.points < FEWEST:
            return f"says nothing before {FEWEST} points"
        return "limits provisional" if self.baseline < FEWEST_FOR_LIMITS else ""


def answer(look: Look) -> tuple[str, str]:
    """Is it drifting: words and mark."""
    if look.control is None:
        return f"Not known: {look.why_none}", "unknown"
    last = look.control.phases[-1]
    own = max(0, last.end - max(last.start, look.historic))
    if own < FEWEST:
        return f"Not known yet: {own} points in this phase, {FEWEST} needed.", "unknown"
    if look.now:
        rules = ", ".join(dict.fromkeys(signal.rule for signal in look.now))
        return f"It signals at its last point: {rules}.", "due"
    days = (look.span[1] - look.span[0]).days
    if look.signals:
        at = look.counted[look.signals[-1].index].at.astimezone(ZoneInfo(look.chart.site.time_zone))
        return f"No signal at its last point; the last one was on {at:%Y-%m-%d}.", "info"
    return f"No signal in {days} days.", "pass"


def runs_of(look: Look, told: Sequence[Told] = ()) -> list[RunOfSignals]:
    """The signals in runs, the newest first, with the task that speaks of each."""
    open_runs: dict[tuple[str, int], RunOfSignals] = {}
    found: list[RunOfSignals] = []
    for signal in look.signals:
        run = open_runs.get((signal.rule, signal.side))
        if run is not None and signal.first <= run.last + 1:
            run.last, run.until = signal.index, look.counted[signal.index].at
            continue
        begun, until = look.counted[signal.first].at, look.counted[signal.index].at
        to_do = what_to_do(look.chart, signal.rule)
        run = RunOfSignals(signal.rule, signal.side, begun, signal.first, signal.index, until, to_do)
        open_runs[(signal.rule, signal.side)] = run
        found.append(run)
    newest = sorted(found, key=lambda run: (run.last, run.first), reverse=True)[:MOST_RUNS]
    for run in newest:
        same = (t for t in told if t.side == run.side and t.first_at <= run.until and t.last_at >= run.begun)
        run.task = next((t.task for t in same), None)
    return newest


def phases_of(look: Look) -> list[PhaseRow]:
    """The phases that reach into the span, the newest first."""
    if look.control is None:
        return []
    why = dict(look.starts) or {0: UNVERIFIED if look.historic else ""}
    rows = [
        PhaseRow(
            since=look.counted[p.start].at,
            why=why.get(p.start, ""),
            center=p.center,
            sigma=p.sigma,
            baseline=p.baseline,
            points=p.end - p.start,
            past=p.start < look.historic,
            seeded=look.seeded and p.start == look.historic,
        )
        for p in look.control.phases
        if look.counted[p.end - 1].at_s >= look.start_s
    ]
    return rows[::-1]


def picture(look: Look, zone: ZoneInfo) -> Markup:
    """The drawing for a wide and a small page."""
    title = f"Control chart of {look.chart}" if look.chart.instrument_id else f"Lots of {look.chart.of}"
    shown = drawn_of(look, title, FONT_SIZE, FAMILY)
    drawn = [
        draw_control_chart(shown, zone, width).replace("<svg ", f'<svg class="{name}" ', 1)
        for name, width in (("across", ACROSS), ("across-small", ACROSS_SMALL))
    ]
    return Markup("".join(drawn))

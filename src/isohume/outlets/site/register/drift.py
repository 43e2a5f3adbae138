"""Is an instrument drifting? The deviations of each reference solution, check by check, and the line through them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from isohume.foundation.metrology.straight_line import StraightLine, unweighted_line
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.register.models import Instrument

LOOKS_BACK = timedelta(days=30)
FEWEST_CHECKS = 8
"""Fewer deviations say nothing about a slope (no source)."""
BEYOND_CHANCE = 4.0
"""A slope of more than four of its standard uncertainties: several references are looked at every day, and among
so many lines three are met by chance (no source)."""
OF_LIMIT = 0.2
"""A change below a fifth of the check's limit is left alone, however sure it is (no source)."""


@dataclass(frozen=True, slots=True)
class Deviation:
    """What one reference read against what it should, in one check."""

    check: Check
    deviation: float
    within: bool
    lots: tuple[str, ...]


@dataclass
class Trace:
    """The deviations of one reference on one instrument, in time."""

    reference: str
    expected: float
    limit: float
    found: list[Deviation] = field(default_factory=list)

    @property
    def counted(self) -> list[Deviation]:
        """Those of checks that are not void."""
        return [one for one in self.found if one.check.voided_at is None]

    @property
    def line(self) -> StraightLine | None:
        """Deviation against days; None where too few checks or one day only."""
        counted = self.counted
        days = [(one.check.last_read_at - counted[0].check.last_read_at) / timedelta(days=1) for one in counted]
        if len(counted) < FEWEST_CHECKS or days[-1] - days[0] < 1:
            return None
        return unweighted_line(days, [one.deviation for one in counted])

    @property
    def drifts(self) -> bool:
        """Whether the change over the time looked back on is beyond chance, and large enough to matter."""
        line = self.line
        if line is None:
            return False
        change = abs(line.slope) * (LOOKS_BACK / timedelta(days=1))
        return abs(line.slope) > BEYOND_CHANCE * line.u_slope and change > OF_LIMIT * self.limit

    @property
    def words(self) -> str:
        """What is to be said of it, in a sentence."""
        line = self.line
        if line is None:
            return (
                f"{self.reference}: {len(self.counted)} checks, {FEWEST_CHECKS} needed before a slope means anything."
            )
        days = LOOKS_BACK / timedelta(days=1)
        change = f"{line.slope * days:+.4f} in {days:.0f} days (u {line.u_slope * days:.4f})"
        return f"{self.reference}: {'drifts' if self.drifts else 'no drift to be seen'}, {change}."

    @property
    def how(self) -> Mapping[str, Any]:
        """How the slope was found."""
        line = self.line
        inputs = [("Checks", str(len(self.counted))), ("Limit of the check", f"{self.limit:g}")]
        if line is not None:
            inputs += [("Slope", f"{line.slope:+.6f} a day"), ("u of the slope", f"{line.u_slope:.6f} a day")]
        return {
            "formula": "deviation = offset + slope · days; drift: |slope| > 4 u(slope) and 30 |slope| > limit / 5",
            "inputs": inputs,
            "range": f"at least {FEWEST_CHECKS} checks over a day or more; void checks left out, nothing is corrected",
            "depends": "the scatter of single checks, and bottles that change by themselves: compare two bottles",
            "source": "JCGM100, H.3 (line and its u); the two thresholds have no source",
        }


def traces(instrument: Instrument, until: datetime, back: timedelta = LOOKS_BACK) -> list[Trace]:
    """The deviations of an instrument's references over some days, driest first."""
    checks = Check.objects.filter(instrument=instrument, last_read_at__gt=until - back, last_read_at__lte=until)
    return _traces(checks.order_by("last_read_at", "pk"))


def _traces(checks: Iterable[Check]) -> list[Trace]:
    found: dict[tuple[str, float | None], Trace] = {}
    for check in checks:
        for solution in check.result["solutions"]:
            molality = solution["molality"]
            name = solution["solution"] + ("" if molality is None else f" {molality:g} mol/kg")
            trace = found.setdefault(
                (solution["solution"], molality), Trace(name, solution["expected"], float(check.limit))
            )
            trace.limit = float(check.limit)
            trace.found.append(
                Deviation(check, solution["deviation"], solution["within"], tuple(solution.get("lots", ())))
            )
    return sorted(found.values(), key=lambda trace: trace.expected)


def drift_words(found: list[Trace], instrument: Instrument) -> tuple[str, str]:
    """The answer to "is it drifting", and the mark of its state."""
    drifting = [trace.reference for trace in found if trace.drifts]
    known = [trace for trace in found if trace.line is not None]
    if drifting and len(drifting) < len(known):
        return f"{', '.join(drifting)} drifts on {instrument.name}, other references do not: look at the bottle.", "due"
    if drifting:
        return f"{instrument.name} drifts on {', '.join(drifting)}.", "due"
    if known:
        return f"No drift of {instrument.name} to be seen in 30 days.", "pass"
    return f"Not known yet: {instrument.name} has too few checks in 30 days.", "unknown"

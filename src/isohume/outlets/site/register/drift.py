"""Is an instrument drifting? Its references check by check, and what the ledger of all bottles says of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from isohume.bench.assurance.bottle_findings import BottleLedger
from isohume.foundation.metrology.straight_line import StraightLine, unweighted_line
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.register.models import Instrument

LEDGER_DAYS = 60
"""How far the ledger of bottles looks back."""

LOOKS_BACK = timedelta(days=30)
FEWEST_CHECKS = 3
"""Two deviations always lie on a line; the third is the first that could not."""


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
    def words(self) -> str:
        """What is to be said of it, in a sentence; whether that is the instrument or a bottle, the ledger says."""
        line = self.line
        if line is None:
            return (
                f"{self.reference}: {len(self.counted)} checks, {FEWEST_CHECKS} needed before a slope means anything."
            )
        days = LOOKS_BACK / timedelta(days=1)
        return f"{self.reference}: {line.slope * days:+.4f} in {days:.0f} days (u {line.u_slope * days:.4f})."

    @property
    def how(self) -> Mapping[str, Any]:
        """How the slope was found."""
        line = self.line
        inputs = [("Checks", str(len(self.counted))), ("Limit of the check", f"{self.limit:g}")]
        if line is not None:
            inputs += [("Slope", f"{line.slope:+.6f} a day"), ("u of the slope", f"{line.u_slope:.6f} a day")]
        return {
            "formula": "deviation = offset + slope · days",
            "inputs": inputs,
            "range": f"at least {FEWEST_CHECKS} checks over a day or more; void checks left out, nothing is corrected",
            "depends": "the scatter of single checks, and bottles that change by themselves",
            "source": "JCGM100, H.3 (line and its u)",
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


def drift_words(instrument: Instrument, ledger: BottleLedger | None) -> tuple[str, str]:
    """The answer to "is it drifting", and the mark of its state; bottles that move are told apart from it."""
    name = instrument.name
    about = ledger.about("instrument", name) if ledger else ()
    if about:
        return " ".join(movement.words for movement in about), "due"
    smallest = ledger.would_show("instrument", name) if ledger else None
    if ledger is None or smallest is None:
        return f"Not known yet: {name} has too few checks in {LEDGER_DAYS} days.", "unknown"
    bottles = [cause.name for movement in ledger.movements if movement.kind == "bottle" for cause in movement.causes]
    also = f" What moves is a bottle: {', '.join(bottles)}." if bottles else ""
    shows = f" One of {smallest:.4f} a day would stand out."
    return f"No drift of {name} to be seen in {LEDGER_DAYS} days.{shows}{also}", "pass"

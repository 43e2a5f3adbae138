"""What the bottle ledger takes and finds: readings, causes, movements, each bottle's own slope; in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from isohume.bench.assurance.movement_fit import Scatter

Kind = Literal["bottle", "instrument", "cannot be told apart"]


@dataclass(frozen=True, slots=True)
class BottleReading:
    """One reading of a bottle: how far from its value at the measured temperature, on which instrument, in which check.

    `u` is the least a reading can scatter by: its resolution, its temperature. `epoch` names a stretch of the
    instrument's life; after an adjustment another one begins, and with it another baseline.
    """

    bottle: str
    solution: str
    instrument: str
    check: str
    day: float
    deviation: float
    u: float
    epoch: str = ""

    @property
    def session(self) -> str:
        """Its check on its instrument: what those readings share."""
        return f"{self.instrument} / {self.check}"


@dataclass(frozen=True, slots=True)
class Cause:
    """What may have moved: a bottle, an instrument on all its references, or on one solution only.

    `epoch` names a stretch of the instrument's life that is over; it is empty for the present one.
    """

    kind: Literal["bottle", "instrument"]
    name: str
    solution: str = ""
    epoch: str = ""

    @property
    def words(self) -> str:
        """What it is called."""
        return self.name if self.kind == "bottle" or not self.solution else f"{self.name} on {self.solution}"


@dataclass(frozen=True, slots=True)
class Movement:
    """Something that moved: what fits best, what else would fit nearly as well, how fast and since when."""

    kind: Kind
    causes: tuple[Cause, ...]
    slope_a_day: float
    u_slope: float
    dof: float
    since_days: float
    threshold: float
    days_to_limit: float

    @property
    def words(self) -> str:
        """What is to be said of it, in a sentence or two."""
        days = max(1, round(self.since_days))
        since = "1 day" if days == 1 else f"{days} days"
        how = f"{self.slope_a_day:+.4f} a day (u {self.u_slope:.4f}) for {since}"
        named = " or ".join(cause.words for cause in self.causes)
        if self.kind == "cannot be told apart":
            return (
                f"{named}: something moves {how}, bottle or instrument cannot be told apart. "
                "Read a second bottle of the solution in the same check."
            )
        if self.kind == "bottle" and len(self.causes) > 1:
            return f"A bottle, not the instrument: {named} moves {how}; which one cannot be told yet."
        if self.kind == "bottle":
            return f"Bottle, not instrument: {named} moves {how}, the others do not."
        return f"Instrument, not bottle: {named} moves {how}, whichever bottle is read."


@dataclass(frozen=True, slots=True)
class OwnSlope:
    """A bottle's own slope over its readings, with the movements of others taken out."""

    bottle: str
    solution: str
    checks: int
    days: float
    siblings: tuple[str, ...]
    slope_a_day: float | None
    u_slope: float | None
    first_deviation: float


@dataclass(frozen=True, slots=True)
class BottleLedger:
    """What moved, each bottle's own slope, and how the instruments scatter."""

    movements: tuple[Movement, ...]
    bottles: tuple[OwnSlope, ...]
    scatter: dict[str, Scatter]
    limit: float
    false_alarms_a_year: float
    visible: dict[Cause, float]

    def would_show(self, kind: Literal["bottle", "instrument"], name: str) -> float | None:
        """The slope a day from which on a movement of it stands out.

        None where even one that used up the limit within the days looked at would not.
        """
        return self.visible.get(Cause(kind, name))

    def about(self, kind: Literal["bottle", "instrument"], name: str) -> tuple[Movement, ...]:
        """The movements that a bottle or an instrument has, or may have."""
        return tuple(m for m in self.movements if any(c.kind == kind and c.name == name for c in m.causes))

    def flagged(self, kind: Literal["bottle", "instrument"], name: str) -> bool:
        """Whether a movement is put down to it: named alone, not as one of several that cannot be told apart."""
        return any(m.kind == kind and {c.name for c in m.causes} == {name} for m in self.about(kind, name))

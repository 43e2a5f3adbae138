"""From portions to one value: the replicate route of ISO 5725-6 with its uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.decision.specification import Specification
from isohume.bench.decision.verdict import Decision, decide, undecided
from isohume.foundation.metrology.replicates import ReplicateRoute, replicate_route, u_of_route

NO_U_OTHER = (
    "u_other is not known: without the uncertainty that repeating does not show there is no verdict; "
    "agreement between portions is not accuracy."
)


@dataclass(frozen=True, slots=True)
class Determination:
    """The value of the portions, the route taken to it and what its repeatability contributes."""

    value: Decimal | None
    n: int
    route: str
    is_median: bool
    range: Decimal
    allowed_range: Decimal | None
    s_r: Decimal | None
    reasons: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """The determination as the record keeps it: exact decimals as text."""
        return {
            "value": None if self.value is None else float(self.value),
            "n": self.n,
            "route": self.route,
            "range": str(self.range),
            "allowed_range": None if self.allowed_range is None else f"{self.allowed_range.normalize():f}",
            "s_r": None if self.s_r is None else str(self.s_r),
            "reasons": list(self.reasons),
        }


def determine(portions: Sequence[Decimal], s_r: Decimal) -> Determination:
    """The value of replicate portions by the route of ISO 5725-6.

    portions: one value a portion [1], 1 to 10 of them, re-reads left out.
    s_r: the repeatability standard deviation [1], greater than zero.
    Returns: the Determination [text]; value None where more portions are needed.
    Raises: InputError for more than 10 portions or an s_r that is not positive.
    Example: determine([0.640, 0.652], 0.002) -> "more portions needed" (range 0.012 > 2.8 x 0.002).
    Source: ISO5725-6, 5.2.
    """
    found: ReplicateRoute = replicate_route(portions, s_r)
    route = found.route or "more portions needed"
    return Determination(
        value=found.value,
        n=found.n,
        route=route,
        is_median=found.is_median,
        range=found.range,
        allowed_range=found.allowed_range,
        s_r=s_r,
        reasons=found.reasons,
    )


def decide_portions(
    portions: Sequence[Decimal], s_r: Decimal, u_other: Decimal | None, specification: Specification
) -> Decision:
    """Judge replicate portions against a specification.

        u = sqrt(u_other^2 + s_r^2/n), s_r^2/n times pi/2 for a median
    portions: one value a portion [1], 1 to 10 of them.
    s_r: the repeatability standard deviation [1], greater than zero.
    u_other: everything but repeatability, as a standard uncertainty [1]; None where not known.
    specification: limits, kind and guard factor [text].
    Returns: the Decision [text].
    Raises: InputError as determine and decide do.
    Example: (0.640, 0.652), s_r 0.002 -> "more portions needed".
    Source: ISO5725-6, 5.2; JCGM106.
    """
    found = determine(portions, s_r)
    if found.value is None:
        return undecided(specification, "more portions needed", found.reasons, n=found.n)
    if u_other is None:
        return undecided(
            specification, "no verdict", (*found.reasons, NO_U_OTHER), value=found.value, n=found.n, route=found.route
        )
    u = u_of_route(float(u_other), float(s_r), found.n, found.is_median)
    return decide(
        found.value,
        u,
        specification,
        n=found.n,
        route=found.route,
        portions=tuple(portions),
        reasons=found.reasons,
    )

"""A stored check as the bench's rule left it, rebuilt from its kept result without judging again."""

from __future__ import annotations

from isohume.bench.assurance import Check as Judged
from isohume.bench.assurance import CheckedSolution
from isohume.bench.assurance.check import line_through
from isohume.bench.assurance.how import how_checked
from isohume.foundation.quantity.how import How
from isohume.outlets.site.checks.models import Check


def judged_of(check: Check) -> Judged:
    """The judged check, with its line through the references."""
    kept = check.result
    solutions = tuple(CheckedSolution(**{**found, "lots": tuple(found["lots"])}) for found in kept["solutions"])
    covers = kept["covers_a_w"]
    return Judged(
        solutions=solutions,
        limit=kept["limit"],
        covers_a_w=(covers[0], covers[1]) if covers else None,
        line=line_through(solutions),
        verdict=kept["verdict"],
        reasons=tuple(kept["reasons"]),
        first_read_at=check.first_read_at,
        last_read_at=check.last_read_at,
        all_timed=True,
    )


def figures_of(judged: Judged, u_instrument: str) -> dict[str, How]:
    """How each figure of a check was found, by its short name: expected, deviation, line."""
    names = ("expected", "deviation", "line")
    return dict(zip(names, how_checked(judged, float(u_instrument)), strict=False))

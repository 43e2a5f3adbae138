"""Values taken before the method's criterion was met: what they add to a lot's budget, and when they may release."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from isohume.bench.decision.verdict import Decision
from isohume.bench.reading.runs import ESTIMATE
from isohume.foundation.quantity.errors import InputError

NOT_VALIDATED = (
    "The method was not validated for such values: they release nothing. Read the portion again until it has settled."
)
HELD = f"Held: a pass that rests on a {ESTIMATE} releases nothing."
MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class Estimates:
    """The portions of a determination that are non-equilibrium estimates.

    `u` is what they add to its budget, None where one of them has no uncertainty; `validated_by` is the document that
    lets them release, empty where there is none.
    """

    runs: tuple[str, ...]
    of: int
    u: float | None
    validated_by: str = ""

    @property
    def label(self) -> str:
        """What the value is, beside the value itself."""
        return ESTIMATE if len(self.runs) == self.of else f"{ESTIMATE} in {len(self.runs)} of {self.of} portions"

    @property
    def words(self) -> str:
        """Which portions they are, what they add, and whether they may release."""
        named = ", ".join(self.runs[:MOST_NAMED])
        if len(self.runs) > MOST_NAMED:
            named += f" and {len(self.runs) - MOST_NAMED} more"
        many = len(self.runs) > 1
        are = "are non-equilibrium estimates" if many else f"is a {ESTIMATE}"
        own = f"own uncertainty {self.u:.4g} is in the budget" if self.u is not None else "own uncertainty is not known"
        said = f"Run {named} {are}, taken before the method's criterion was met; {'their' if many else 'its'} {own}."
        if self.validated_by:
            return f"{said} The method was validated for such values: {self.validated_by.rstrip('.')}."
        return f"{said} {NOT_VALIDATED}"

    def as_json(self) -> dict[str, object]:
        """The estimates as the record keeps them."""
        return {
            "label": self.label,
            "runs": list(self.runs),
            "of": self.of,
            "u": self.u,
            "validated_by": self.validated_by or None,
        }


def u_of_estimates(us: Iterable[float]) -> float:
    """What estimates among the portions of one determination add to its budget.

        u = max(u_i), whatever their number
    us: the standard uncertainties of the estimates [1], at least one, each above zero.
    Returns: standard uncertainty [1]. Forecasts of one product miss alike (the same slow tail), and errors in common
        are not averaged away: fully correlated, a mean of n carries the mean of the u_i, which the largest is never
        below; it holds for a median and for a worst portion too.
    Raises: InputError where there is none, or one is not above zero.
    Example: ten values that share one standard uncertainty 0.1: their mean carries 0.1, not 0.032.
    Source: JCGM100, 5.2.2.
    """
    known = list(us)
    if not known:
        raise InputError("us", "none", "the standard uncertainty of each estimate")
    for u in known:
        if not 0.0 < u < float("inf"):
            raise InputError("us", u, "a finite standard uncertainty greater than zero")
    return max(known)


def rest_on_estimates(decision: Decision, estimates: Estimates | None) -> Decision:
    """The decision with what its estimates mean: verdict and probability stay, a release needs a validated method.

    decision: the decision on the value, the estimates' uncertainty in its budget [text].
    estimates: the estimates among its portions [text]; None leaves the decision as it is.
    Returns: the Decision [text]: "hold" in place of "release" where no document validates the method for estimates.
    Example: 0.630 (u 0.004) against <= 0.65, one estimate, no document -> "pass", "hold".
    Source: none (common practice: an early value releases only where the method was validated for it).
    """
    if estimates is None:
        return decision
    reasons = (estimates.words, *decision.reasons)
    if estimates.validated_by or decision.disposition != "release":
        return replace(decision, reasons=reasons)
    return replace(decision, disposition="hold", reasons=(*reasons, HELD))

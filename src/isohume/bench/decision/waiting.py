"""Can waiting still change a verdict? The forecast of a run that has not settled, held against the acceptance limits.

Early words go one way only: a run may be held or failed before it has settled, and at a food-safety limit it passes
only once the method's criterion is met.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from isohume.bench.decision.specification import Specification
from isohume.bench.decision.verdict import Decision, Verdict, decide
from isohume.foundation.quantity.errors import InputError

Act = Literal["hold", "fail", "pass", ""]
FROM_WORST: tuple[Verdict, ...] = ("fail", "conditional fail", "conditional pass", "pass")
WIDE = 1.959963984540054
"""Half widths of a 95 % interval in standard uncertainties."""
MOST_SAID = 0.999


@dataclass(frozen=True, slots=True)
class Waiting:
    """What waiting could still bring. `decided`: the run ends on one side of its acceptance limit wherever the
    forecast's interval lets it end. `verdicts` are the possible ones, worst first; `may_act` is what may be done now.
    """

    decided: bool
    verdicts: tuple[Verdict, ...]
    may_act: Act
    value_range: tuple[float, float]
    probability_range: tuple[float, float]
    words: str

    @property
    def verdict(self) -> str:
        """The verdict that waiting cannot change; empty where it still can."""
        return self.verdicts[0] if len(self.verdicts) == 1 else ""


def waiting_could_change(
    value: float,
    low: float,
    high: float,
    u_other: float,
    specification: Specification,
    *,
    settled: bool = False,
    estimates_validated: bool = False,
) -> Waiting:
    """Whether further waiting could change the verdict on a run, and by how much it could.

        decided where every y from low to high lies on one side of its acceptance limit, A = limit inwards by r u_other
    value: the forecast of the settled value [1].
    low: lower end of the forecast's 95 % interval [1], 0 or more.
    high: upper end of it [1], at most 1.
    u_other: the standard uncertainty of a settled value of this one portion [1], above zero.
    specification: limits, kind and guard factor [text].
    settled: whether the method's criterion is met [text].
    estimates_validated: whether the method was validated for values taken before its criterion [text]; it lets a
        quality limit pass early, a food-safety limit never.
    Returns: the Waiting [1].
    Raises: InputError for an interval that does not hold its value or reaches beyond 0 to 1, a u that is not above
        zero, or a guard that leaves no acceptance zone.
    Example: 0.860 in 0.858 to 0.862, u_other 0.004, <= 0.85 -> decided, "conditional fail" or "fail", may hold.
    Source: JCGM106, 7 and 8; ILACG8, 4.2.
    """
    if not low <= value <= high:
        raise InputError("low", f"{low} to {high}", f"an interval that holds the forecast {value}")
    for field, end in (("low", low), ("high", high)):
        if not 0.0 <= end <= 1.0:
            raise InputError(field, end, "0 to 1: no water activity lies beyond")
    best = _nearest_to_middle(low, high, specification)
    found = tuple(_at(y, u_other, specification) for y in (low, best, high))
    released = {one.disposition == "release" for one in found}
    verdicts = _between(found, specification)
    act = _may_act(found, _now(value, low, high, u_other, specification), specification, settled, estimates_validated)
    chances = [one.probability_of_conformity or 0.0 for one in found]
    waiting = Waiting(
        decided=len(released) == 1,
        verdicts=verdicts,
        may_act=act,
        value_range=(low, high),
        probability_range=(min(chances), max(chances)),
        words="",
    )
    return _worded(waiting, specification, settled)


def _nearest_to_middle(low: float, high: float, specification: Specification) -> float:
    """The point of the interval that conforms most surely."""
    lower, upper = specification.lower, specification.upper
    if lower is None:
        return low
    if upper is None:
        return high
    return min(max(float(lower.value + upper.value) / 2, low), high)


def _at(y: float, u: float, specification: Specification) -> Decision:
    return decide(Decimal(repr(float(y))), u, specification)


def _between(found: tuple[Decision, ...], specification: Specification) -> tuple[Verdict, ...]:
    """Every verdict from the worst found to the best, worst first; without a guard there are two words only."""
    places = [FROM_WORST.index(one.verdict) for one in found]
    passed_through = FROM_WORST[min(places) : max(places) + 1]
    if specification.guard == 0:
        return tuple(word for word in passed_through if not word.startswith("conditional"))
    return passed_through


def _now(value: float, low: float, high: float, u_other: float, specification: Specification) -> str:
    """The verdict on the value as it stands, the forecast's own uncertainty in its budget; empty where none is left."""
    u_forecast = max(high - value, value - low) / WIDE
    try:
        return _at(value, math.hypot(u_other, u_forecast), specification).verdict
    except InputError:  # so wide a guard leaves no acceptance zone
        return ""


def _may_act(
    found: tuple[Decision, ...], now: str, specification: Specification, settled: bool, validated: bool
) -> Act:
    """What may be done before the criterion is met: the safe side freely, the other one never at a safety limit."""
    verdicts = {one.verdict for one in found}
    if verdicts == {"fail"} and now == "fail":
        return "fail"
    if all(one.disposition == "hold" for one in found):
        return "hold"
    may_pass = settled or (validated and specification.kind == "quality")
    return "pass" if may_pass and verdicts == {"pass"} and now == "pass" else ""


def _worded(waiting: Waiting, specification: Specification, settled: bool) -> Waiting:
    words = (_whether(waiting), _how_much(waiting), _what_now(waiting, specification, settled))
    return replace(waiting, words=" ".join(filter(None, words)))


def _how_much(waiting: Waiting) -> str:
    (low, high), (least, most) = waiting.value_range, map(_said, waiting.probability_range)
    chance = f"stays {least}" if least == most else f"can go from {least} to {most}"
    cut = " and ".join(f"{end:g}" for end in (low, high) if end in (0.0, 1.0))
    sure = f"95 %, cut at {cut}" if cut else "95 %"
    reach = f"The settled value can still lie from {low:.4f} to {high:.4f} ({sure})"
    return f"{reach}; its probability of conformity {chance}."


def _whether(waiting: Waiting) -> str:
    possible = " or ".join(reversed(waiting.verdicts))
    if waiting.verdict:
        return f"Further waiting cannot change the verdict on this portion: {waiting.verdict}."
    if waiting.decided:
        side = "outside" if waiting.may_act == "hold" else "inside"
        return f"Further waiting cannot change the side of the acceptance limit: {side}, {possible}."
    return f"Waiting can still change the verdict on this portion: {possible}."


def _what_now(waiting: Waiting, specification: Specification, settled: bool) -> str:
    if waiting.may_act == "fail":
        return "It may be failed now."
    if waiting.may_act == "hold":
        return "The lot may be held now."
    if waiting.may_act == "pass":
        return "The criterion is met." if settled else "The method was validated for an estimate: it may pass now."
    if not waiting.decided or settled:
        return ""
    where = "At a food-safety limit passing" if specification.kind == "safety" else "Passing"
    return f"{where} needs the method's criterion met: wait for it."


def _said(probability: float) -> str:
    if probability > MOST_SAID:
        return f"above {MOST_SAID:g}"
    return f"below {1.0 - MOST_SAID:.3f}" if probability < 1.0 - MOST_SAID else f"{probability:.3f}"

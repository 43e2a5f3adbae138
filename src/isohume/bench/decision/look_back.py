"""What a failed check does to results that were given already: corrected value, probability, verdict, ranked.

The window and the bias are assurance; this needs the rules of the verdict, so it stands one ring further. A corrected
value says what to test again and in which order. It never releases: every disposition here is "hold".
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import Literal

from isohume.bench.assurance.bias import Bias, BiasPoint, bias_at
from isohume.bench.assurance.look_back import PastReading, Window
from isohume.bench.decision.specification import Specification
from isohume.bench.decision.verdict import Decision, decide, undecided
from isohume.foundation.quantity.errors import InputError

ANOTHER_SCALE = (
    "It was stated with another correction than the check was judged with: the bias is that of its own scale."
)
NEVER_RELEASES = "A corrected value says what to test again; it never releases a lot."


@dataclass(frozen=True, slots=True)
class PortionRead(PastReading):
    """One portion behind a result; here: read on the instrument that failed."""

    here: bool = True


@dataclass(frozen=True, slots=True)
class ResultGiven:
    """A lot's result as it was given: value, u, limits, the portions behind it, the verdict of that day.

    points: the failed check's references on the scale that the value was stated on, where that is not the check's own.
    """

    lot: str
    value: Decimal
    u: float
    specification: Specification
    portions: tuple[PortionRead, ...]
    verdict_before: str | None = None
    is_median: bool = False
    key: int = 0
    points: tuple[BiasPoint, ...] = ()


@dataclass(frozen=True, slots=True)
class ResultAtRisk:
    """A result whose protection is gone, with the full bias taken off.

    corrected_in_time: for comparison only, the bias grown evenly since the last good check.
    """

    given: ResultGiven
    bias: Bias
    share: float
    corrected: Decimal
    u: float
    decision: Decision
    corrected_in_time: float | None
    in_failed_range: bool = True

    @property
    def disposition(self) -> Literal["hold"]:
        """Nothing else can come out of a look-back."""
        return "hold"

    @property
    def beyond(self) -> bool:
        """Whether the corrected value lies beyond a limit; not known where no correction can be believed."""
        return self.bias.believed and not self.given.specification.admits(self.corrected)

    @property
    def read_at(self) -> datetime:
        """When its last portion was read."""
        return max(portion.read_at for portion in self.given.portions)

    def as_json(self) -> dict[str, object]:
        """The keys of the command line's contract, numbers unrounded, and what they stand on."""
        return {
            "lot": self.given.lot,
            "value": float(self.given.value),
            "corrected": float(self.corrected),
            "u": self.u,
            "probability_of_conformity": self.decision.probability_of_conformity,
            "verdict_before": self.given.verdict_before,
            "verdict_after": self.decision.verdict,
            "bias": self.bias.bias,
            "u_bias": self.bias.u,
            "share": self.share,
            "outside_references": self.bias.outside,
            "correction_believed": self.bias.believed,
            "corrected_in_time": self.corrected_in_time,
            "disposition": self.disposition,
            "reasons": [*self.decision.reasons],
        }


@dataclass(frozen=True, slots=True)
class LookBack:
    """The results at risk, worst first; `beside` are those read where the check was true, which it does not touch."""

    window: Window
    points: tuple[BiasPoint, ...]
    results: tuple[ResultAtRisk, ...]
    beside: tuple[ResultAtRisk, ...] = field(default=())

    @property
    def beyond(self) -> int:
        """How many lie beyond a limit once corrected."""
        return sum(result.beyond for result in self.results)

    @property
    def doubted(self) -> int:
        """How many no correction can be believed for."""
        return sum(not result.bias.believed for result in self.results)


def look_back(
    window: Window,
    points: Iterable[BiasPoint],
    results: Iterable[ResultGiven],
    good: Mapping[int, Sequence[BiasPoint]] | None = None,
) -> LookBack:
    """The results that a failed check puts at risk, with its full bias applied back to the last good check.

        corrected = value - share bias(value);  u_c^2 = u^2 + (share u_bias)^2 - (share u_common)^2
    window: the readings at risk [text], from `window_of`.
    points: the references of the failed check with their deviations [1].
    results: results on the instrument about the window [1]; those with no portion at risk are left out.
    good: references of earlier passing checks by their id [1], for the comparison in time.
    Returns: the LookBack [text], ranked by probability of conformity, worst first.
    Raises: InputError where the check's references give no bias.
    Example: 0.645 with u 0.0035 against <= 0.650, bias -0.0107 -> 0.6557, "conditional fail".
    Source: ISO17025, 7.10; a smeared rim is a step, so the full bias holds from the last good check on.
    """
    known = tuple(points)
    found = [_at_risk(one, window, known, good or {}) for one in results]
    ranked = worst_first(one for one in found if one is not None)
    return LookBack(
        window,
        known,
        tuple(one for one in ranked if one.in_failed_range),
        tuple(one for one in ranked if not one.in_failed_range),
    )


def worst_first(results: Iterable[ResultAtRisk]) -> list[ResultAtRisk]:
    """Results by the probability of conformity of their corrected values, also of several failed checks.

    results: in any order [text].
    Returns: the same, the least probable first, what has no probability before all [text].
    Source: none.
    """
    return sorted(results, key=_rank)


def _rank(one: ResultAtRisk) -> tuple[float, float, str]:
    """What has no probability comes first: nothing is known that would put it further down."""
    probability = one.decision.probability_of_conformity
    past = max(
        float(one.corrected - limit.value if limit.is_upper else limit.value - one.corrected)
        for limit in one.given.specification.limits
    )
    return (-1.0 if probability is None else probability, -past, one.given.lot)


def _at_risk(
    given: ResultGiven, window: Window, points: tuple[BiasPoint, ...], good: Mapping[int, Sequence[BiasPoint]]
) -> ResultAtRisk | None:
    share, in_range = _share(given, window)
    if share == 0:
        return None
    bias = bias_at(float(given.value), given.points or points)
    corrected = given.value - Decimal(repr(share * bias.bias))
    u = combined_u(given.u, bias, share)
    decision = _judged(corrected, u, given, bias, share)
    in_time = _in_time(given, share, bias, window, good)
    return ResultAtRisk(given, bias, share, corrected, u, decision, in_time, in_range)


def _share(given: ResultGiven, window: Window) -> tuple[float, bool]:
    """The share of a result's portions that are at risk; a median may be any of them, so it is touched whole."""
    here = [portion for portion in given.portions if portion.here]
    at_risk = [portion for portion in here if window.puts_at_risk(portion)]
    if at_risk:
        return (1.0 if given.is_median else len(at_risk) / len(given.portions)), True
    beside = [portion for portion in here if window.holds(portion)]
    return (1.0 if given.is_median and beside else len(beside) / max(len(given.portions), 1)), False


def combined_u(u: float, bias: Bias, share: float = 1.0) -> float:
    """The standard uncertainty of a corrected value.

        u_c^2 = u^2 + (share u_bias)^2 - (share u_common)^2
    u: of the value as given [1], greater than zero; the instrument's own part is in it.
    bias: the bias with its u, in which the instrument's own part stands a second time [1].
    share: the share of the portions that the bias touches [1].
    Returns: standard uncertainty [1], never less than what the bias adds by its references alone.
    Example: u 0.0035, u_bias 0.0016 of which 0.0015 are the instrument's own -> 0.0035.
    Source: JCGM100, 5.1 (the instrument's own part counted once; that it would cancel in part is not claimed).
    """
    twice = min(share * bias.u_common, u)
    return math.sqrt(u**2 + (share * bias.u) ** 2 - twice**2)


def _judged(corrected: Decimal, u: float, given: ResultGiven, bias: Bias, share: float) -> Decision:
    """By the rules of any verdict; held whatever it is."""
    part = "" if share == 1 else f" for {share:.0%} of its portions"
    said = f"The bias {bias.bias:+.4f} (u {bias.u:.4f}) was taken off{part}: {' and '.join(bias.between)} of the check."
    scale = (ANOTHER_SCALE,) if given.points else ()
    reasons = (said, *scale, *bias.reasons)
    if not bias.believed:
        decision = undecided(given.specification, "no verdict", reasons, value=corrected, u=u, n=len(given.portions))
        return replace(decision, reasons=(*decision.reasons, NEVER_RELEASES))
    try:
        decision = decide(corrected, u, given.specification, n=len(given.portions), reasons=reasons)
    except InputError as error:
        decision = undecided(given.specification, "no verdict", (*reasons, str(error)), value=corrected, u=u)
    return replace(decision, disposition="hold", reasons=(*decision.reasons, NEVER_RELEASES))


def _in_time(
    given: ResultGiven, share: float, full: Bias, window: Window, good: Mapping[int, Sequence[BiasPoint]]
) -> float | None:
    """The corrected value had the bias grown evenly from the last good check to the failed one."""
    value = float(given.value)
    youngest = max(given.portions, key=lambda portion: portion.read_at)
    last = window.last_good_for(replace(youngest, a_w=value))
    if last is None or not good.get(last.id) or not full.believed:
        return None
    begun, ended = last.last_read_at, window.failed.first_read_at
    past = min(max((youngest.read_at - begun) / (ended - begun), 0.0), 1.0)
    try:
        before = bias_at(value, good[last.id]).bias
    except InputError:
        return None
    return value - share * (before + past * (full.bias - before))

"""A value with its uncertainty against a specification: verdict, probability of conformity, disposition.

Conformity and disposition are two things. The verdict uses the non-binary words of ILAC-G8; the disposition says
what may happen to the lot, and for a food-safety limit only a "pass" may be released.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from isohume.bench.decision.specification import Specification
from isohume.foundation.metrology.conformity import probability_of_conformity
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit

Verdict = Literal["pass", "conditional pass", "conditional fail", "fail", "more portions needed", "no verdict"]
Disposition = Literal["release", "hold"]


@dataclass(frozen=True, slots=True)
class Decision:
    """The verdict on a value, with everything needed to say why."""

    value: Decimal | None
    u: float | None
    n: int | None
    route: str | None
    specification: Specification
    guard_band: Decimal | None
    acceptance: tuple[Decimal | None, Decimal | None]
    probability_of_conformity: float | None
    verdict: Verdict
    disposition: Disposition
    sampling_included: bool
    reasons: tuple[str, ...] = field(default=())

    def as_json(self) -> dict[str, object]:
        """The keys of the command line's contract, numbers unrounded."""
        lower, upper = self.specification.lower, self.specification.upper
        return {
            "value": _number(self.value),
            "u": self.u,
            "n": self.n,
            "route": self.route,
            "lower_limit": lower.as_json() if lower else None,
            "upper_limit": upper.as_json() if upper else None,
            "guard_band": _number(self.guard_band),
            "acceptance": [_number(side) for side in self.acceptance],
            "probability_of_conformity": self.probability_of_conformity,
            "verdict": self.verdict,
            "disposition": self.disposition,
            "sampling_included": self.sampling_included,
            "reasons": list(self.reasons),
        }


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def decide(
    value: Decimal,
    u: float,
    specification: Specification,
    *,
    n: int | None = None,
    route: str | None = None,
    portions: tuple[Decimal, ...] = (),
    sampling_included: bool = False,
    reasons: tuple[str, ...] = (),
) -> Decision:
    """Judge a value against a specification with a guard band.

        w = r u;  p = Phi((U - y)/u) - Phi((L - y)/u)
    value: the value as typed or as found by the replicate route [1], compared unrounded.
    u: its standard uncertainty [1], greater than zero.
    specification: limits, kind and guard factor [text].
    n: number of portions behind the value [1], None where a value was given.
    route: how the portions became a value [text].
    portions: the single portions [1]; one beyond a safety limit holds the lot whatever the route says.
    sampling_included: whether u holds a between-position component [text].
    reasons: reasons found before, kept first [text].
    Returns: the Decision [text].
    Raises: InputError where u is not positive or the guard leaves no acceptance zone.
    Example: decide(0.846, 0.004, <= 0.85) -> p = 0.8413447, "conditional pass", "hold".
    Source: JCGM106, 7 and 8; ILACG8, 4.2.
    """
    if not u > 0 or u == float("inf"):
        raise InputError("u", u, "a finite standard uncertainty greater than zero")
    guard_band = specification.guard * Decimal(repr(float(u)))
    accepted = specification.guarded(guard_band)
    verdict, why = _verdict(value, specification, accepted, guard_band)
    disposition, because = _disposition(verdict, specification, accepted, portions, route or "")
    if specification.guard == 0:
        because = (*because, "Simple acceptance, w = 0: near the limit the risk of a false statement is up to 50 %.")
    return Decision(
        value=value,
        u=float(u),
        n=n,
        route=route,
        specification=specification,
        guard_band=guard_band,
        acceptance=(_side(accepted.lower), _side(accepted.upper)),
        probability_of_conformity=_probability(value, u, specification),
        verdict=verdict,
        disposition=disposition,
        sampling_included=sampling_included,
        reasons=(*reasons, *why, *because),
    )


def undecided(
    specification: Specification,
    verdict: Literal["more portions needed", "no verdict"],
    reasons: tuple[str, ...],
    *,
    value: Decimal | None = None,
    u: float | None = None,
    n: int | None = None,
    route: str | None = None,
) -> Decision:
    """A decision that says why there is none yet; the lot is on hold.

    specification: limits, kind and guard factor [text].
    verdict: "more portions needed" or "no verdict" [text].
    reasons: why [text], at least one.
    value: the value found all the same [1], None where there is none.
    u: its standard uncertainty [1], None where not known.
    n: number of portions [1].
    route: how the portions became a value [text].
    Returns: the Decision, disposition "hold" [text].
    Source: none.
    """
    return Decision(
        value=value,
        u=u,
        n=n,
        route=route,
        specification=specification,
        guard_band=None,
        acceptance=(None, None),
        probability_of_conformity=None,
        verdict=verdict,
        disposition="hold",
        sampling_included=False,
        reasons=reasons,
    )


def _side(limit: Limit | None) -> Decimal | None:
    return None if limit is None else limit.value


def _probability(value: Decimal, u: float, specification: Specification) -> float:
    lower = None if specification.lower is None else float(specification.lower.value)
    upper = None if specification.upper is None else float(specification.upper.value)
    return float(probability_of_conformity(float(value), u, lower, upper))


def _verdict(
    value: Decimal, specification: Specification, accepted: Specification, guard_band: Decimal
) -> tuple[Verdict, tuple[str, ...]]:
    shown = _shown(value)
    if accepted.admits(value):
        zone = " and ".join(_plain(limit) for limit in accepted.limits)
        return "pass", (f"{shown} lies inside the acceptance zone ({zone}).",)
    if specification.admits(value):
        broken = next(limit for limit in accepted.limits if not limit.admits(value))
        return "conditional pass", (
            f"{shown} is inside the limit but within the guard band {float(guard_band):.4g} of it "
            f"(acceptance needs {_plain(broken)}).",
        )
    broken = next(limit for limit in specification.limits if not limit.admits(value))
    widened = broken.moved(-guard_band)
    near = value <= widened.value if broken.is_upper else value >= widened.value
    if guard_band > 0 and near:
        return "conditional fail", (
            f"{shown} is not {broken}; it is outside by no more than the guard band {float(guard_band):.4g}.",
        )
    return "fail", (f"{shown} is not {broken}.",)


def _shown(value: Decimal) -> str:
    """A value in words: as typed, or to six decimals where a mean or median has more."""
    exponent = value.as_tuple().exponent
    return f"{value:.6f}" if isinstance(exponent, int) and exponent < -6 else str(value)


def _plain(limit: Limit) -> str:
    return f"{limit.operator} {float(limit.value):.6g}"


def _disposition(
    verdict: Verdict, specification: Specification, accepted: Specification, portions: tuple[Decimal, ...], route: str
) -> tuple[Disposition, tuple[str, ...]]:
    beyond = [portion for portion in portions if not specification.admits(portion)]
    if beyond and specification.kind == "safety":
        return "hold", (
            f"Portion {beyond[0]} lies beyond a food-safety limit: one portion beyond holds the lot, "
            "whatever the mean or median says.",
        )
    outside = [portion for portion in portions if not accepted.admits(portion)]
    if outside and specification.kind == "safety" and route.startswith("median"):
        return "hold", (
            f"The portions differ more than their repeatability allows, and {outside[0]} lies outside the acceptance "
            "zone: for a food-safety limit a lot that is not homogeneous is judged by its worst portion.",
        )
    if verdict == "pass":
        return "release", ()
    if verdict == "conditional pass" and specification.allow_conditional:
        return "release", (
            "Released on a conditional pass: a quality limit whose rule allows it; the remaining risk is accepted.",
        )
    if verdict == "conditional pass" and specification.kind == "safety":
        return "hold", ("A food-safety limit releases only on pass.",)
    return "hold", ()

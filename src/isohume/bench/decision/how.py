"""How the figures of a decision were found."""

from __future__ import annotations

from isohume.bench.decision.verdict import Decision
from isohume.foundation.metrology.normal import normal_cdf
from isohume.foundation.quantity.how import How


def how_decided(decision: Decision) -> tuple[How, ...]:
    """The explanations of a decision's figures: acceptance limits and probability of conformity.

    decision: the decision [text]; without a guard band nothing was computed.
    Returns: one How a figure [text].
    Source: ISO17025, 7.11.6.
    """
    if decision.guard_band is None or decision.value is None:
        return ()
    risk = 1 - float(normal_cdf(float(decision.specification.guard)))
    limits = {limit.operator: str(limit.value) for limit in decision.specification.limits}
    return (
        How(
            "acceptance limits",
            "w = r u; A = limit moved inwards by w",
            "ILACG8",
            f"a value at a single acceptance limit carries a risk of {100 * risk:.2g} %",
            "the standard uncertainty",
            {"r": str(decision.specification.guard), "u": decision.u, "w": float(decision.guard_band)},
        ),
        How(
            "probability of conformity",
            "p = Phi((U - y)/u) - Phi((L - y)/u)",
            "JCGM106",
            "normal distribution of the value, no prior knowledge of the lot",
            "the distance of the value to the limit",
            {"y": float(decision.value), "u": decision.u, "limits": limits},
        ),
    )

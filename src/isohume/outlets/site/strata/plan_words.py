"""What a sampling plan asks for and promises, in words."""

from __future__ import annotations

from isohume.outlets.site.strata.models import SamplingPlan

NAMES = {
    "fraction_percent": "Wet fraction of the lot",
    "confidence_percent": "Seen with a probability of",
    "lot_size": "Units in the lot",
    "aql_percent": "Fraction that shall pass (AQL)",
    "producer_risk_percent": "Risk of holding such a lot",
    "lq_percent": "Fraction that shall not pass (LQ)",
    "consumer_risk_percent": "Risk of passing such a lot",
}
"""The numbers of a plan as people call them."""
PORTIONS = (
    "Portions of places drawn at random. A place that is expected to be the worst comes first, whatever the plan."
)
NORMAL = (
    "By variables it holds for one limit and for lots whose values are normal. A lot with a wet corner is not normal: "
    "its positions are strata, and the worst one decides."
)
NOT_ALONE = "A plan never overrules a portion beyond a food-safety limit: one beyond it holds the lot."


def plan_words(plan: SamplingPlan) -> str:
    """The plan in a sentence: how many portions, and what makes a lot pass by it."""
    return asked_words(plan.n, plan.c, plan.k)


def asked_words(n: int, c: int | None, k: str) -> str:
    """How many portions, and when a lot passes."""
    portions = f"{n} portion{'s' if n != 1 else ''}"
    if k:
        return (
            f"{portions}; the lot passes where their mean and {float(k):.3f} standard deviations stay inside the limit"
        )
    if not c:
        return f"{portions}; the lot passes where none of them is beyond the limit"
    return f"{portions}; the lot passes where at most {c} of them {'is' if c == 1 else 'are'} beyond the limit"


def cautions(kind: str) -> tuple[str, ...]:
    """What goes with every plan of a kind."""
    return (PORTIONS, *([NORMAL] if kind == "variables" else []), NOT_ALONE)


def given_rows(given: dict[str, str]) -> list[tuple[str, str]]:
    """The numbers a plan was made from, as typed."""
    return [(NAMES[name], f"{text} %" if name.endswith("_percent") else text) for name, text in given.items() if text]

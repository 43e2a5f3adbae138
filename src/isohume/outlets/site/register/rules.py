"""What a specification asks, in words, with how its acceptance limits were found."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from isohume.foundation.metrology.normal import normal_cdf
from isohume.outlets.site.checks.standing_of import guard_band, limits_of
from isohume.outlets.site.register.figures import uncertainty_of
from isohume.outlets.site.register.models import SpecificationVersion

SIGNS = {"<": "below", "<=": "at most", ">": "above", ">=": "at least"}
SAFETY = "A food-safety limit: a lot is released on a pass only."
CONDITIONAL = "A quality limit: a conditional pass may be released."
QUALITY = "A quality limit: a conditional pass is not released."
NO_KILL_STEP = (
    "No growth is not safe: water activity is never a kill step, and what was alive may survive for months. "
    "Limits differ with humectant, oxygen and toxin."
)
Fact = tuple[str, str] | tuple[str, str, Mapping[str, Any]]


def limit_words(spec: SpecificationVersion) -> str:
    """The limits in words: at least 0.580 and at most 0.650."""
    return " and ".join(f"{SIGNS[limit.operator]} {limit.value}" for limit in limits_of(spec))


def rule_facts(spec: SpecificationVersion) -> list[Fact]:
    """The specification as facts; acceptance limits say how they were found."""
    return [
        ("Limits", f"a_w {limit_words(spec)} at {spec.temperature_c} degC"),
        ("Component", spec.component or "the whole product"),
        ("Kind", spec.kind),
        _accepted(spec),
        ("Where a lot is expected", spec.expected_a_w or "not said"),
        ("Where the limit comes from", spec.source),
    ]


def _accepted(spec: SpecificationVersion) -> Fact:
    """The limits moved inwards by the guard band of the method's budget as it stands now."""
    version = spec.product.method.current
    if version is None:
        return ("Accepted on a pass", "not known: the method has no version")
    guard, figure = guard_band(spec, version), uncertainty_of(version)
    moved = [(limit, limit.moved(guard)) for limit in limits_of(spec)]
    words = " and ".join(f"{SIGNS[limit.operator]} {float(accepted.value):.4f}" for limit, accepted in moved)
    risk = 100 * (1 - float(normal_cdf(float(spec.guard))))
    how = {
        "formula": "w = r u;  acceptance limit = limit moved inwards by w",
        "inputs": [
            ("Guard factor r", spec.guard),
            ("Standard uncertainty u", figure.words, "the method's budget in force; a lot may add its own"),
            ("Guard band w", f"{float(guard):.5f}"),
            ("Limits", limit_words(spec)),
        ],
        "range": f"a lot exactly at one acceptance limit lies beyond the limit with a probability of {risk:.2g} %",
        "depends": "the standard uncertainty",
        "source": "ILACG8; JCGM106",
    }
    return ("Accepted on a pass", f"{words}, guard factor {spec.guard}", how)


def rules_that_apply(spec: SpecificationVersion) -> list[str]:
    """The rules a lot is judged by, each a sentence."""
    kind = SAFETY if spec.kind == "safety" else CONDITIONAL if spec.allow_conditional else QUALITY
    rules = [kind]
    if Decimal(spec.guard) == 0:
        rules.append("No guard band: a lot exactly at the limit is beyond it in half of all cases.")
    rules.append(f"The limit is stated at {spec.temperature_c} degC; a reading is not restated at another temperature.")
    if spec.component:
        rules.append(f"It holds for the {spec.component}: a sample of it is read on its own.")
    if spec.product.pack_atmosphere:
        rules.append(f"It was set for the pack's atmosphere: {spec.product.pack_atmosphere}.")
    return [*rules, NO_KILL_STEP]

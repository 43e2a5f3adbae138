"""Verdict, probability and disposition, against the worked figures of the trade and JCGM 106."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.decision import Specification, decide
from isohume.foundation.quantity import InputError, Limit

UPPER = Limit(Decimal("0.85"), "<=")


def at_most_085(**changes: object) -> Specification:
    """A food-safety maximum of 0.85."""
    return Specification(None, UPPER, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "p", "verdict", "disposition"),
    [
        # p = Phi((0.85 - y)/0.004): JCGM 106, 7; words ILAC-G8:09/2019
        ("0.840", 0.9938, "pass", "release"),
        ("0.842", 0.9772, "pass", "release"),
        ("0.8421", 0.9759, "conditional pass", "hold"),
        ("0.846", 0.8413, "conditional pass", "hold"),
        ("0.850", 0.5000, "conditional pass", "hold"),
        ("0.852", 0.3085, "conditional fail", "hold"),
        ("0.858", 0.0228, "conditional fail", "hold"),
        ("0.859", 0.0122, "fail", "hold"),
    ],
)
def test_around_a_maximum(value: str, p: float, verdict: str, disposition: str) -> None:
    decision = decide(Decimal(value), 0.004, at_most_085())
    assert decision.probability_of_conformity == pytest.approx(p, abs=0.00005)
    assert (decision.verdict, decision.disposition) == (verdict, disposition)
    assert decision.reasons


def test_a_value_is_judged_unrounded() -> None:
    assert decide(Decimal("0.8504"), 0.004, at_most_085()).verdict == "conditional fail"


def test_a_strict_limit_is_not_inside_itself() -> None:
    below = Specification(None, Limit(Decimal("0.85"), "<"))
    assert decide(Decimal("0.85"), 0.004, below).verdict == "conditional fail"
    assert decide(Decimal("0.85"), 0.004, Specification(None, UPPER)).verdict == "conditional pass"


def test_simple_acceptance_is_binary() -> None:
    simple = at_most_085(guard=Decimal(0))
    assert decide(Decimal("0.85"), 0.004, simple).verdict == "pass"
    assert decide(Decimal("0.8501"), 0.004, simple).verdict == "fail"
    strict = Specification(None, Limit(Decimal("0.85"), "<"), guard=Decimal(0))
    assert decide(Decimal("0.85"), 0.004, strict).verdict == "fail"


def test_a_minimum_is_guarded_upwards() -> None:
    at_least = Specification(Limit(Decimal("0.48"), ">="), None)
    assert decide(Decimal("0.488"), 0.004, at_least).verdict == "pass"
    found = decide(Decimal("0.487"), 0.004, at_least)
    assert found.verdict == "conditional pass"
    assert found.acceptance == (Decimal("0.488"), None)
    assert decide(Decimal("0.471"), 0.004, at_least).verdict == "fail"


def test_two_sided_probability_counts_both_limits() -> None:
    both = Specification(Limit(Decimal("0.48"), ">="), Limit(Decimal("0.58"), "<="))
    found = decide(Decimal("0.53"), 0.025, both)
    # P(|Z| <= 2) = 0.9544997 (normal tables)
    assert found.probability_of_conformity == pytest.approx(0.9544997, abs=5e-8)


def test_a_guard_that_leaves_nothing_is_refused_with_the_reason() -> None:
    narrow = Specification(Limit(Decimal("0.60"), ">="), Limit(Decimal("0.61"), "<="))
    with pytest.raises(InputError, match="guard band that leaves an acceptance zone"):
        decide(Decimal("0.605"), 0.004, narrow)
    with pytest.raises(InputError, match=r"no a_w lies at or below -0\.15"):
        decide(Decimal("0.605"), 0.5, at_most_085())


def test_contradictory_specifications_are_refused() -> None:
    with pytest.raises(InputError, match="below the maximum"):
        Specification(Limit(Decimal("0.9"), ">="), UPPER)
    with pytest.raises(InputError, match="a minimum, a maximum or both"):
        Specification(None, None)
    with pytest.raises(InputError, match="food-safety limit releases only on pass"):
        Specification(None, UPPER, kind="safety", allow_conditional=True)


def test_a_quality_limit_may_release_a_conditional_pass_where_the_rule_says_so() -> None:
    rule = at_most_085(kind="quality", allow_conditional=True)
    assert decide(Decimal("0.846"), 0.004, rule).disposition == "release"
    assert decide(Decimal("0.846"), 0.004, at_most_085(kind="quality")).disposition == "hold"
    assert decide(Decimal("0.852"), 0.004, rule).disposition == "hold"


def test_one_portion_beyond_a_safety_limit_holds_whatever_the_mean_says() -> None:
    portions = (Decimal("0.851"), Decimal("0.820"), Decimal("0.821"))
    found = decide(Decimal("0.8306"), 0.002, at_most_085(), portions=portions)
    assert (found.verdict, found.disposition) == ("pass", "hold")
    assert any("0.851" in reason for reason in found.reasons)
    assert decide(Decimal("0.8306"), 0.002, at_most_085(kind="quality"), portions=portions).disposition == "release"


@pytest.mark.parametrize("u", [0.0, -0.004, float("nan"), float("inf")])
def test_no_verdict_without_a_meaningful_uncertainty(u: float) -> None:
    with pytest.raises(InputError, match="u: read"):
        decide(Decimal("0.84"), u, at_most_085())


@given(st.decimals("0.5", "0.99", places=4), st.decimals("0.0005", "0.02", places=4))
@settings(derandomize=True)
def test_release_of_a_safety_limit_only_on_pass_and_probability_falls_with_the_value(
    value: Decimal, u: Decimal
) -> None:
    found = decide(value, float(u), at_most_085())
    assert (found.disposition == "release") == (found.verdict == "pass")
    wetter = decide(value + Decimal("0.001"), float(u), at_most_085())
    assert found.probability_of_conformity is not None
    assert wetter.probability_of_conformity is not None
    assert wetter.probability_of_conformity <= found.probability_of_conformity


def test_a_lot_that_is_not_homogeneous_is_held_by_its_worst_portion() -> None:
    portions = tuple(map(Decimal, ("0.800", "0.801", "0.802", "0.8499")))
    found = decide(Decimal("0.8015"), 0.005, at_most_085(), route="median of 4", portions=portions)
    assert (found.verdict, found.disposition) == ("pass", "hold")
    assert "not homogeneous" in " ".join(found.reasons)
    dry = (*portions[:3], Decimal("0.830"))
    assert decide(Decimal("0.8015"), 0.005, at_most_085(), route="median of 4", portions=dry).disposition == "release"


def test_simple_acceptance_names_its_risk() -> None:
    found = decide(Decimal("0.85"), 0.004, at_most_085(guard=Decimal(0)))
    assert "up to 50 %" in found.reasons[-1]

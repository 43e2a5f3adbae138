"""Values taken before the criterion: what they add to a budget, and that they release by a document alone."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.decision import Estimates, Specification, decide, rest_on_estimates, u_of_estimates
from isohume.foundation.quantity import InputError, Limit

SAFETY = Specification(None, Limit(Decimal("0.85"), "<="))
QUALITY = Specification(None, Limit(Decimal("0.85"), "<="), kind="quality", allow_conditional=True)
ONE = Estimates(("43",), 2, 0.003)


def test_what_is_common_is_not_averaged_away() -> None:
    """JCGM 100, 5.2.2, example (from memory): ten resistors compared with one standard, u 0.1 ohm: their sum has 1, not
    0.32 ohm; so their mean has 0.1 ohm."""
    assert u_of_estimates([0.1] * 10) == pytest.approx(1.0 / 10)


@given(st.lists(st.floats(1e-6, 0.05), min_size=1, max_size=10))
def test_it_is_never_below_the_mean_of_fully_correlated_errors(us: list[float]) -> None:
    """JCGM 100, 5.2.2 with r = 1: u(mean) = (sum of u_i)/n."""
    assert u_of_estimates(us) >= math.fsum(us) / len(us) - 1e-15


@pytest.mark.parametrize("us", [[], [0.0], [0.003, -0.001], [float("nan")], [float("inf")]])
def test_an_uncertainty_that_is_none_is_refused(us: list[float]) -> None:
    with pytest.raises(InputError) as error:
        u_of_estimates(us)
    assert error.value.field == "us"


def test_without_a_document_a_pass_is_held_with_its_verdict_and_probability() -> None:
    plain = decide(Decimal("0.830"), 0.004, SAFETY)
    held = rest_on_estimates(plain, ONE)
    assert (plain.disposition, held.disposition) == ("release", "hold")
    assert (held.verdict, held.probability_of_conformity) == ("pass", plain.probability_of_conformity)
    assert "Run 43 is a non-equilibrium estimate" in held.reasons[0]
    assert "not validated" in held.reasons[0]
    assert held.reasons[-1].startswith("Held:")


def test_a_document_lets_it_go_and_is_named() -> None:
    early = Estimates(("43", "44"), 2, 0.003, "Validation report BM-12-V2.")
    found = rest_on_estimates(decide(Decimal("0.830"), 0.004, SAFETY), early)
    assert found.disposition == "release"
    assert "Run 43, 44 are non-equilibrium estimates" in found.reasons[0]
    assert found.reasons[0].endswith("validated for such values: Validation report BM-12-V2.")


def test_a_document_holds_nothing_free_that_was_held() -> None:
    early = Estimates(("43",), 1, 0.003, "Validation report BM-12-V2")
    assert rest_on_estimates(decide(Decimal("0.846"), 0.004, SAFETY), early).disposition == "hold"


def test_a_conditional_pass_that_a_rule_would_release_is_held_too() -> None:
    plain = decide(Decimal("0.846"), 0.004, QUALITY)
    assert (plain.verdict, plain.disposition) == ("conditional pass", "release")
    assert rest_on_estimates(plain, ONE).disposition == "hold"


def test_no_estimate_changes_nothing() -> None:
    plain = decide(Decimal("0.830"), 0.004, SAFETY)
    assert rest_on_estimates(plain, None) is plain


def test_the_label_says_how_many_of_them() -> None:
    assert ONE.label == "non-equilibrium estimate in 1 of 2 portions"
    assert Estimates(("1", "2"), 2, 0.003).label == "non-equilibrium estimate"
    assert "not known" in Estimates(("1",), 1, None).words
    assert "1, 2, 3, 4, 5 and 2 more" in Estimates(tuple("1234567"), 7, 0.003).words


@settings(max_examples=300)
@given(
    st.decimals("0.70", "1.00", places=4),
    st.floats(1e-4, 0.02),
    st.floats(1e-6, 0.02),
    st.sampled_from((SAFETY, QUALITY)),
    st.sampled_from(("", "Report 1")),
)
def test_an_estimate_never_helps_a_lot(
    value: Decimal, u: float, u_estimate: float, specification: Specification, document: str
) -> None:
    """Inside the limit its uncertainty lowers the probability; it never turns a hold into a release."""
    plain = decide(value, u, specification)
    early = rest_on_estimates(
        decide(value, math.hypot(u, u_estimate), specification), Estimates(("1",), 1, u_estimate, document)
    )
    assert plain.probability_of_conformity is not None
    assert early.probability_of_conformity is not None
    if specification.admits(value):
        assert early.probability_of_conformity <= plain.probability_of_conformity + 1e-12
    if plain.disposition == "hold" or not document:
        assert early.disposition == "hold"
    if plain.verdict != "pass":
        assert early.verdict != "pass"

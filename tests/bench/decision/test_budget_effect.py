"""What another budget does to guard bands, acceptance limits and lots already judged."""

from __future__ import annotations

from decimal import Decimal

import pytest

from isohume.bench.decision.budget import own_data_budget
from isohume.bench.decision.budget_effect import BASIC_NAMES, guard_effect, judged_with
from isohume.bench.decision.specification import Specification
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit

SOFT_BAR = Specification(None, Limit(Decimal("0.650"), "<="), "quality", Decimal("1.64"), True)


def test_the_guard_of_the_soft_bar() -> None:
    """u 0.0035 -> w 0.0057, acceptance to 0.644 (the invented plant A, job.md 8)."""
    found = guard_effect(SOFT_BAR, 0.0035, 0.0025)
    assert found.guard_before == Decimal("0.00574")
    assert found.accepted_before == (None, Decimal("0.64426"))
    assert found.guard_after == Decimal("0.00410")
    assert found.accepted_after == (None, Decimal("0.64590"))
    assert found.refused_after == ""


def test_a_guard_that_leaves_nothing_is_said() -> None:
    both = Specification(Limit(Decimal("0.60"), ">="), Limit(Decimal("0.61"), "<="), "quality", Decimal(2))
    assert "acceptance zone" in guard_effect(both, 0.001, 0.004).refused_after
    assert (
        judged_with(Decimal("0.605"), [], both, own_data_budget(Decimal("0.004"), Decimal("0.001"), 1, False, ""))
        is None
    )


def test_u_must_be_above_zero() -> None:
    with pytest.raises(InputError, match="u_after"):
        guard_effect(SOFT_BAR, 0.002, 0.0)


def test_a_lot_judged_with_another_budget_keeps_what_it_added_itself() -> None:
    """0.6450: accepted to 0.64426 before; with u_other 0.0020, s_r 0.0014, n 2: u 0.00223, accepted to 0.64634."""
    budget = own_data_budget(Decimal("0.0020"), Decimal("0.0014"), 2, False, "own checks")
    components = [("everything but repeatability", 0.0032), ("repeatability of the mean", 0.0014)]
    now = judged_with(Decimal("0.6450"), components, SOFT_BAR, budget)
    assert now is not None
    assert now.verdict == "pass"
    assert now.u == pytest.approx((0.0020**2 + 0.0014**2 / 2) ** 0.5)
    warm = judged_with(
        Decimal("0.6450"), [*components, ("sample warmer or colder than the block", 0.003)], SOFT_BAR, budget
    )
    assert warm is not None
    assert warm.verdict == "conditional pass"
    assert warm.u == pytest.approx((0.0020**2 + 0.0014**2 / 2 + 0.003**2) ** 0.5)


def test_the_names_of_a_budgets_own_components() -> None:
    assert {
        "everything but repeatability",
        "repeatability",
        "repeatability of the mean",
        "repeatability of the median",
        "reproducibility s_R",
        "between laboratories (s_R without s_r)",
    } == BASIC_NAMES

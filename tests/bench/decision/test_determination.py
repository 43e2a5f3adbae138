"""Portions to one value: ISO 5725-6 routes and their uncertainty (critical range factors from secondary sources)."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from isohume.bench.decision import Specification, decide_portions, determine
from isohume.foundation.quantity import InputError, Limit

S_R, U_OTHER = Decimal("0.002"), Decimal("0.0035")
RULE = Specification(None, Limit(Decimal("0.65"), "<="))


def decimals(*texts: str) -> tuple[Decimal, ...]:
    """Portions as typed."""
    return tuple(Decimal(text) for text in texts)


def test_a_pair_too_far_apart_asks_for_two_more() -> None:
    found = decide_portions(decimals("0.640", "0.652"), S_R, U_OTHER, RULE)
    assert (found.verdict, found.disposition) == ("more portions needed", "hold")
    assert found.value is None
    assert found.probability_of_conformity is None
    assert "2 more" in found.reasons[0]


def test_a_range_exactly_at_the_limit_agrees() -> None:
    # 2.8 x 0.002 = 0.0056 exactly; binary floats would say 0.00560000000000005
    assert determine(decimals("0.6400", "0.6456"), S_R).route == "mean of 2"
    assert determine(decimals("0.6400", "0.6457"), S_R).value is None


def test_four_portions_within_give_the_mean_beyond_give_the_median() -> None:
    # n = 4: 3.6 x 0.002 = 0.0072
    within = determine(decimals("0.640", "0.6472", "0.644", "0.645"), S_R)
    assert (within.route, within.value) == ("mean of 4", Decimal("0.64405"))
    beyond = determine(decimals("0.640", "0.652", "0.644", "0.645"), S_R)
    assert (beyond.route, beyond.value) == ("median of 4", Decimal("0.6445"))


def test_the_uncertainty_of_mean_and_median() -> None:
    mean = decide_portions(decimals("0.631", "0.633"), S_R, U_OTHER, RULE)
    assert mean.u == pytest.approx(math.sqrt(0.0035**2 + 0.002**2 / 2), rel=1e-12)
    median = decide_portions(decimals("0.610", "0.622", "0.614", "0.615"), S_R, U_OTHER, RULE)
    assert median.u == pytest.approx(math.sqrt(0.0035**2 + math.pi / 2 * 0.002**2 / 4), rel=1e-12)


def test_without_u_other_there_is_no_verdict() -> None:
    found = decide_portions(decimals("0.631", "0.633"), S_R, None, RULE)
    assert (found.verdict, found.disposition) == ("no verdict", "hold")
    assert found.value == Decimal("0.632")
    assert "u_other is not known" in found.reasons[-1]


def test_a_portion_beyond_a_safety_limit_holds_the_mean() -> None:
    found = decide_portions(decimals("0.648", "0.651", "0.6475"), S_R, Decimal("0.0005"), RULE)
    assert found.disposition == "hold"


def test_too_many_portions_and_a_silly_s_r_are_refused() -> None:
    with pytest.raises(InputError, match="10"):
        determine([Decimal("0.6")] * 11, S_R)
    with pytest.raises(InputError, match="s_r"):
        determine(decimals("0.6", "0.6"), Decimal(0))

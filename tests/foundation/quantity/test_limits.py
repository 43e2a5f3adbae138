"""Limits compared unrounded, on decimals as typed (job: 0.8504 is over 0.850 although it prints 0.850)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from isohume.foundation.quantity import Limit


@pytest.mark.parametrize(
    ("operator", "value", "inside"),
    [
        ("<=", "0.850", True),
        ("<=", "0.8500", True),
        ("<=", "0.8504", False),
        ("<", "0.85", False),
        ("<", "0.8499999", True),
        (">=", "0.85", True),
        (">", "0.85", False),
        (">", "0.8500001", True),
    ],
)
def test_operators(operator: str, value: str, inside: bool) -> None:
    limit = Limit(Decimal("0.85"), operator)  # type: ignore[arg-type]
    assert limit.admits(Decimal(value)) is inside


def test_a_minimum_moves_up_and_a_maximum_down() -> None:
    assert Limit(Decimal("0.30"), ">=").moved(Decimal("0.01")).value == Decimal("0.31")
    assert Limit(Decimal("0.85"), "<=").moved(Decimal("0.008")).value == Decimal("0.842")

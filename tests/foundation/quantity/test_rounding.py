"""Value and uncertainty rounded together (JCGM 100, 7.2.6: at most two significant digits of u)."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.quantity import InputError, round_together


@pytest.mark.parametrize(
    ("value", "u", "shown"),
    [
        # JCGM 100, 7.2.2 and 7.2.6: m_s = 100.02147 g with u_c = 0.35 mg; V = 10.05762 ohm with u_c = 27 mohm
        (100.02147, 0.00035, ("100.02147", "0.00035")),
        (10.05762, 0.027, ("10.058", "0.027")),
        (0.84623, 0.00377, ("0.8462", "0.0038")),
        (0.5, 0.0996, ("0.50", "0.10")),
        (123.4, 15.0, ("123", "15")),
    ],
)
def test_printed_examples(value: float, u: float, shown: tuple[str, str]) -> None:
    assert round_together(value, u) == shown


def test_unknown_uncertainty_says_so() -> None:
    assert round_together(0.6523, None) == ("0.6523", "")


@given(st.floats(0.001, 1), st.floats(1e-6, 0.1))
@settings(derandomize=True)
def test_both_end_at_the_same_decimal_and_are_off_by_at_most_half_a_unit(value: float, u: float) -> None:
    shown, shown_u = round_together(value, u)
    decimals = len(shown_u.partition(".")[2])
    assert len(shown.partition(".")[2]) == decimals
    assert abs(Decimal(shown) - Decimal(repr(value))) <= Decimal(5).scaleb(-decimals - 1)
    assert abs(Decimal(shown_u) - Decimal(repr(u))) <= Decimal(5).scaleb(-decimals - 1)


@pytest.mark.parametrize("u", [-1.0, float("nan"), float("inf")])
def test_a_meaningless_uncertainty_is_refused(u: float) -> None:
    with pytest.raises(InputError, match="u:"):
        round_together(0.5, u)

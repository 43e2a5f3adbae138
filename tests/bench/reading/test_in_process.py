"""Readings for the line: drier, wetter, as it should be, or cannot tell; they release nothing."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.reading import advise
from isohume.foundation.quantity import InputError

LOW, HIGH, U = Decimal("0.620"), Decimal("0.660"), 0.004


@pytest.mark.parametrize(
    ("a_w", "words"),
    [
        ("0.6681", "wetter"),
        ("0.668", "cannot tell"),  # exactly U above the upper end
        ("0.661", "cannot tell"),
        ("0.6521", "cannot tell"),
        ("0.652", "as it should be"),  # exactly U below it
        ("0.628", "as it should be"),
        ("0.6279", "cannot tell"),
        ("0.612", "cannot tell"),
        ("0.6119", "drier"),
    ],
)
def test_advice_changes_at_u_from_each_end(a_w: str, words: str) -> None:
    found = advise(Decimal(a_w), LOW, HIGH, U)
    assert found.words == words
    assert a_w in found.reasons[0]
    assert "releases nothing" in found.reasons[-1]


@pytest.mark.parametrize(
    ("low", "high", "a_w", "words"),
    [
        (None, HIGH, "0.3", "as it should be"),
        (None, HIGH, "0.7", "wetter"),
        (LOW, None, "0.9", "as it should be"),
        (LOW, None, "0.5", "drier"),
    ],
)
def test_a_target_may_have_one_end(low: Decimal | None, high: Decimal | None, a_w: str, words: str) -> None:
    assert advise(Decimal(a_w), low, high, U).words == words


def test_a_target_narrower_than_the_uncertainty_is_said() -> None:
    found = advise(Decimal("0.64"), Decimal("0.636"), Decimal("0.644"), U)
    assert found.words == "cannot tell"
    assert "narrower" in found.reasons[1]
    assert "narrower" not in advise(Decimal("0.661"), LOW, HIGH, U).reasons[1]


@given(st.integers(1, 1000), st.integers(1, 1000), st.integers(1, 1000), st.integers(0, 50))
@settings(derandomize=True)
def test_every_value_in_the_interval_bears_the_advice_out(y: int, one: int, other: int, u_thousandths: int) -> None:
    """Slow plain twin in whole thousandths: ask of every value within U of the reading where it lies."""
    low, high = sorted((one, other))
    interval = range(y - 2 * u_thousandths, y + 2 * u_thousandths + 1)
    places = {"drier" if v < low else "wetter" if v > high else "as it should be" for v in interval}
    expected = places.pop() if len(places) == 1 else "cannot tell"
    found = advise(Decimal(y) / 1000, Decimal(low) / 1000, Decimal(high) / 1000, u_thousandths / 1000)
    assert found.words == expected


@pytest.mark.parametrize(
    ("given_", "field"),
    [
        ((Decimal("0.6"), None, None, U), "target_high"),
        ((Decimal("0.6"), HIGH, LOW, U), "target_low"),
        ((Decimal("60"), LOW, HIGH, U), "a_w"),
        ((Decimal("0.6"), Decimal(0), HIGH, U), "target_low"),
        ((Decimal("0.6"), LOW, Decimal("1.1"), U), "target_high"),
        ((Decimal("NaN"), LOW, HIGH, U), "a_w"),
        ((Decimal("0.6"), LOW, HIGH, -0.1), "u"),
        ((Decimal("0.6"), LOW, HIGH, float("nan")), "u"),
    ],
)
def test_what_makes_no_sense_is_refused_at_its_field(
    given_: tuple[Decimal, Decimal | None, Decimal | None, float], field: str
) -> None:
    with pytest.raises(InputError) as refused:
        advise(*given_)
    assert refused.value.field == field

"""Second keying: the slip is named, neither keying is chosen."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.reading import compare_keyings
from isohume.foundation.quantity import InputError

KEYED = st.integers(1, 9999).map(lambda n: f"0.{n:04d}")


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        ("0.618", "0.681", "two digits swapped"),
        ("0.681", "0.618", "two digits swapped"),
        ("0.816", "0.618", "two digits swapped"),
        ("0.618", "0.6810", "two digits swapped"),
        ("0.681", "6.81", "decimal slip"),
        ("0.681", "0.0681", "decimal slip"),
        ("0.0681", "6.81", "ERH in percent"),
        ("0.00681", "0.681", "decimal slip"),
        ("0.681", "68.1", "ERH in percent"),
        ("68.10", "0.681", "ERH in percent"),
        ("0.681", "0.631", "one digit different"),
        ("0.681", "0.680", "one digit different"),
        ("0.681", "0.68", "one digit left out"),
        ("0.6118", "0.618", "one digit left out"),
        ("0.681", "0.593", "different"),
        ("0.681", "-0.681", "different"),
    ],
)
def test_a_difference_is_named_by_what_it_looks_like(first: str, second: str, words: str) -> None:
    found = compare_keyings(first, second)
    assert found.words == words
    assert not found.agree
    assert (found.first, found.second) == (first, second)
    assert first in found.reasons[0]
    assert second in found.reasons[0]
    assert found.reasons[-1].startswith("Neither is taken")


@pytest.mark.parametrize(
    ("first", "second"), [("0.631", "0.6310"), (" 0.631", "0,631"), ("0.631", ".631"), ("1", "1.0")]
)
def test_the_same_number_agrees_however_it_is_written(first: str, second: str) -> None:
    found = compare_keyings(first, second)
    assert found.agree
    assert found.difference == 0
    assert len(found.reasons) == 1


@given(KEYED, KEYED)
@settings(derandomize=True)
def test_agreeing_is_equality_of_decimals_and_the_order_of_keyings_changes_no_word(first: str, second: str) -> None:
    there, back = compare_keyings(first, second), compare_keyings(second, first)
    assert there.agree == (Decimal(first) == Decimal(second))
    assert there.words == back.words
    assert there.difference == -back.difference


@given(
    st.lists(st.sampled_from("123456789"), min_size=4, max_size=4, unique=True), st.integers(0, 3), st.integers(0, 3)
)
@settings(derandomize=True)
def test_any_two_digits_exchanged_are_found(digits: list[str], i: int, j: int) -> None:
    turned = list(digits)
    turned[i], turned[j] = turned[j], turned[i]
    words = compare_keyings(f"0.{''.join(digits)}", f"0.{''.join(turned)}").words
    assert words == ("agree" if i == j else "two digits swapped")


@pytest.mark.parametrize(("first", "second", "field"), [("", "0.6", "first"), ("0.6", "abc", "second")])
def test_a_keying_that_is_no_number_is_refused_at_its_field(first: str, second: str, field: str) -> None:
    with pytest.raises(InputError) as refused:
        compare_keyings(first, second)
    assert refused.value.field == field


def test_a_number_in_place_of_its_typed_digits_is_refused() -> None:
    with pytest.raises(InputError, match="as it was typed"):
        compare_keyings(0.631, "0.631")  # type: ignore[arg-type]

"""Numbers of a line: exact, with the laboratory's decimal mark, percent only where the rule says so."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from isohume.outlets.capture.values import NotTakenError, elapsed_text, fraction_text, temperature_text

WHOLE = st.integers(min_value=0, max_value=10_000)


@given(WHOLE)
def test_a_comma_and_a_point_say_the_same(parts: int) -> None:
    point = f"{parts / 10_000:.4f}"
    assert fraction_text(point.replace(".", ","), "a_w", ",", False) == point
    assert fraction_text(point, "a_w", ".", False) == point


@given(st.integers(min_value=10_501, max_value=1_000_000))
def test_what_reads_like_percent_is_never_divided_silently(parts: int) -> None:
    """65.2 is a water activity only for a rule that says percent."""
    text = f"{Decimal(parts) / 10_000:f}"
    with pytest.raises(NotTakenError, match="percent"):
        fraction_text(text, "a_w", ".", False)


@given(st.integers(min_value=106, max_value=10_000))
def test_percent_is_divided_exactly_with_its_digits(parts: int) -> None:
    text = f"{Decimal(parts).scaleb(-2):f}"  # 1.06 to 100.00
    divided = fraction_text(text, "a_w", ".", True)
    assert Decimal(divided) * 100 == Decimal(text)
    assert len(divided.partition(".")[2]) == 4


@given(st.integers(min_value=1, max_value=1_050))
def test_a_fraction_under_a_rule_of_percent_is_not_read(parts: int) -> None:
    with pytest.raises(NotTakenError, match="the rule says percent"):
        fraction_text(f"{parts / 1000:.3f}", "a_w", ".", True)


@pytest.mark.parametrize(
    ("text", "mark", "why"),
    [
        ("0,652", ".", 'the rule says decimal = "."'),
        ("0.652", ",", 'the rule says decimal = ","'),
        ("1,234.5", ".", "the rule says"),
        ("6.52e-1", ".", "is not a number"),
        ("---", ".", "is not a number"),
        ("-0.1", ".", "below 0"),
        ("0.1234567", ".", "is not a number"),
        ("", ".", "is not a number"),
    ],
)
def test_what_is_no_fraction_says_why(text: str, mark: str, why: str) -> None:
    with pytest.raises(NotTakenError, match=why):
        fraction_text(text, "a_w", mark, False)


def test_trailing_zeros_and_a_little_more_than_one_stay() -> None:
    assert fraction_text("0.6500", "a_w", ".", False) == "0.6500"
    assert fraction_text("1.0003", "a_w", ".", False) == "1.0003"
    assert fraction_text("65,20", "a_w", ",", True) == "0.6520"


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("12.0", "12.0"), ("0:12", "12"), ("12:30", "750"), ("1:02:03.5", "3723.5"), ("90:00", "5400")],
)
def test_times_in_seconds_and_on_a_clock(text: str, seconds: str) -> None:
    assert elapsed_text(text, "elapsed_s", ".") == seconds


@pytest.mark.parametrize("text", ["1:60", "1:70:00", "-1", "2000000", "12:3", "1:2:3:4"])
def test_no_time(text: str) -> None:
    with pytest.raises(NotTakenError):
        elapsed_text(text, "elapsed_s", ".")


def test_a_temperature_beyond_belief() -> None:
    assert temperature_text("-18,5", "sample_temperature_c", ",") == "-18.5"
    with pytest.raises(NotTakenError, match="not within"):
        temperature_text("298.15", "sample_temperature_c", ".")

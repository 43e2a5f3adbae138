"""What people type: read exactly, or refused with the field, the value and what is allowed."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.quantity import InputError, read_a_w, read_decimal, read_temperature_c, read_time
from isohume.foundation.quantity.typed import read_words


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("65.2", "ERH in percent meant (a_w 0.652)"),
        ("65.2 %", "percent"),
        ("0.652%", "percent"),
        ("nan", "finite"),
        ("inf", "finite"),
        ("-inf", "finite"),
        ("", "blank"),
        ("   ", "blank"),
        ("0", "greater than 0"),
        ("-0.1", "greater than 0"),
        ("1.0001", "percent"),
        ("101", "at most 1"),
        ("0.652 a_w", "fraction"),
        ("1,000.5", "thousands"),
        ("zero", "fraction"),
        ("0x1", "fraction"),
        ("1_0", "fraction"),
        ("٠.٦", "fraction"),
    ],
)
def test_a_w_refusals_say_what_is_allowed(typed: str, asked: str) -> None:
    with pytest.raises(InputError) as refused:
        read_a_w(typed)
    text = str(refused.value)
    assert text.startswith("a_w: read ")
    assert asked in text
    assert "\n" not in text


@given(st.decimals(min_value="0.0001", max_value=1, places=4))
@settings(derandomize=True)
def test_every_decimal_is_read_exactly_as_typed(number: Decimal) -> None:
    assert read_a_w(str(number)) == number


def test_decimal_comma_is_accepted_and_said() -> None:
    notes: list[str] = []
    assert read_a_w("0,652", notes=notes) == Decimal("0.652")
    assert notes == ["a_w: decimal comma in 0,652 read as 0.652"]


def test_trailing_zeros_are_kept() -> None:
    assert str(read_decimal("0.650", "x")) == "0.650"


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("77 F", "convert degF"),
        ("77°F", "convert degF"),
        ("77", "degF meant (25.0 degC)"),
        ("298.15", "kelvin meant (25.0"),
    ],
)
def test_other_units_of_temperature_are_questions(typed: str, asked: str) -> None:
    with pytest.raises(InputError, match="degrees Celsius") as refused:
        read_temperature_c(typed, low=Decimal(0), high=Decimal(60))
    assert asked in str(refused.value)


def test_times_need_iso_and_note_a_missing_offset() -> None:
    notes: list[str] = []
    assert read_time("2026-09-15T06:05", "read_at", notes) == datetime(2026, 9, 15, 6, 5, tzinfo=UTC)
    assert notes == ["read_at: no offset given, read as UTC"]
    for typed in ("2026-09-15", "15/09/2026 06:05", "yesterday at noon", ""):
        with pytest.raises(InputError, match="ISO 8601"):
            read_time(typed, "read_at")


def test_a_number_that_reads_as_degf_and_as_kelvin_is_asked_for_both() -> None:
    with pytest.raises(InputError, match=r"was degF meant \(147\.9 degC\) or kelvin meant \(25\.0 degC\)\?"):
        read_temperature_c("298.15")


@pytest.mark.parametrize("typed", ["1e31", "1e-31", "0e99", Decimal("1e999999"), Decimal("-1e-999999"), 10**40])
def test_sizes_that_no_quantity_has_are_refused(typed: object) -> None:
    with pytest.raises(InputError, match="x: read"):
        read_decimal(typed, "x")


def test_more_digits_than_decimal_arithmetic_carries_are_refused() -> None:
    assert read_decimal("0." + "1" * 25, "x") == Decimal("0." + "1" * 25)
    with pytest.raises(InputError, match="at most 25 digits, not 26"):
        read_decimal("0." + "1" * 26, "x")


def test_a_comma_that_may_be_a_thousand_is_asked_about() -> None:
    with pytest.raises(InputError, match=r"is 1\.234 or 1234 meant\?"):
        read_decimal("1,234", "dish_g")
    for typed, number in (("0,234", "0.234"), ("1,23", "1.23"), ("1234,5", "1234.5"), ("1,2345", "1.2345")):
        assert read_decimal(typed, "dish_g") == Decimal(number)
    assert read_temperature_c("25,000") == 25
    assert read_decimal("1,234", "molality", thousands_possible=False) == Decimal("1.234")


def test_words_are_one_printable_line() -> None:
    assert read_words("  Müsli \N{EN DASH} שיבולת שועל  ", "x") == "Müsli \N{EN DASH} שיבולת שועל"
    assert read_words("", "x") == ""
    for typed in ("a\nb", "a\x00", "\x1b[31m", "\u202eabc", "a\u2028b", "\udcff", "\ue000", 5, None):
        with pytest.raises(InputError, match="x: read"):
            read_words(typed, "x")
    with pytest.raises(InputError, match="at most 200 characters, not 201"):
        read_words("x" * 201, "x")

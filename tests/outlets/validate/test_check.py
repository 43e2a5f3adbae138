"""What a check says: difference, whether it holds, and the last printed digit."""

import math

import pytest

from isohume.outlets.validate.check import Check, last_digit, read_table


def check(expected, computed, tolerance):
    return Check("X1", "a thing", "Somebody 1999", "looked-up", expected, computed, tolerance, "water.csv")


def test_difference_is_signed():
    assert check(2.0, 1.5, 1.0).difference == -0.5


@pytest.mark.parametrize(
    ("computed", "holds"), [(0.753, True), (0.7535, True), (0.7525, True), (0.7536, False), (math.nan, False)]
)
def test_holds_within_the_tolerance(computed, holds):
    assert check(0.753, computed, 0.0005).holds is holds


def test_texts_must_be_equal():
    assert check("pass", "pass", 0.0).holds
    assert not check("pass", "conditional pass", 0.0).holds
    assert check("pass", "pass", 0.0).difference is None


@pytest.mark.parametrize(
    ("printed", "unit"),
    [
        ("97.30", 0.01),
        ("25", 1.0),
        ("0.353658941E-2", 1e-11),
        ("-7.744", 0.001),
        (".705", 0.001),
        ("1.2e3", 100.0),
    ],
)
def test_last_digit(printed, unit):
    assert last_digit(printed) == pytest.approx(unit, rel=1e-12)


@pytest.mark.parametrize("printed", ["nan", "Infinity"])
def test_what_is_no_printed_number_has_no_last_digit(printed):
    with pytest.raises(ValueError, match="no printed number"):
        last_digit(printed)


def test_cells_stay_texts_as_printed():
    first = read_table("water")[0]
    assert (first["id"], first["value"]) == ("W001", "611.655")
    assert read_table("water.csv") == read_table("water")

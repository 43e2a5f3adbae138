"""A key from a form or an address is a number the database can hold, or none."""

from __future__ import annotations

import pytest

from isohume.outlets.site.config.keys import read_key


@pytest.mark.parametrize(("typed", "key"), [("1", 1), (" 17 ", 17), ("0", 0), ("9" * 15, 999_999_999_999_999)])
def test_digits_are_a_key(typed: str, key: int) -> None:
    assert read_key(typed) == key


@pytest.mark.parametrize("typed", ["", " ", "-1", "+1", "1.0", "1e3", "1_0", "\u0663", "\u00b2", "9" * 16, "9" * 5000])
def test_anything_else_is_none(typed: str) -> None:
    assert read_key(typed) is None

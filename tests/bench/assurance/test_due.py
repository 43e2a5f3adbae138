"""The due list: overdue first, words that count days as people do."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.assurance import DueItem, due_list
from isohume.foundation.quantity import InputError

TODAY = date(2026, 11, 24)


def item(days: int, what: str = "bottle expires", ref: str = "SC-201") -> DueItem:
    """An item due so many days from today."""
    return DueItem(what, ref, TODAY + timedelta(days=days), "the label says so")


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (-3, "overdue by 3 days"),
        (-1, "overdue by 1 day"),
        (0, "due today"),
        (1, "due in 1 day"),
        (5, "due in 5 days"),
    ],
)
def test_words(days: int, words: str) -> None:
    [found] = due_list([item(days)], TODAY)
    assert found.words == words
    assert found.overdue is (days < 0)
    assert found.days_left == days


def test_the_end_of_february_is_a_day_like_others() -> None:
    [found] = due_list([DueItem("calibration", "OW-1", date(2028, 3, 1), "yearly")], date(2028, 2, 28))
    assert found.words == "due in 2 days"


@given(st.lists(st.integers(-400, 400), max_size=20), st.integers(0, 60))
@settings(derandomize=True)
def test_all_and_only_what_falls_due_in_time_is_listed_by_date(days: list[int], ahead: int) -> None:
    found = due_list(map(item, days), TODAY, ahead)
    assert [due.days_left for due in found] == sorted(d for d in days if d <= ahead)


def test_the_same_day_is_sorted_by_what_and_which() -> None:
    found = due_list([item(2, "service", "B"), item(2, "calibration", "Z"), item(2, "service", "A")], TODAY)
    assert [(due.item.what, due.item.ref) for due in found] == [
        ("calibration", "Z"),
        ("service", "A"),
        ("service", "B"),
    ]


def test_thirty_days_are_looked_ahead() -> None:
    assert [due.days_left for due in due_list([item(30), item(31)], TODAY)] == [30]


def test_a_moment_in_place_of_a_day_and_a_look_back_are_refused() -> None:
    with pytest.raises(InputError, match="today"):
        due_list([], datetime(2026, 11, 24, tzinfo=UTC))
    with pytest.raises(InputError, match="due_on"):
        due_list([DueItem("service", "A", datetime(2026, 11, 24, tzinfo=UTC), "yearly")], TODAY)
    with pytest.raises(InputError, match="days_ahead"):
        due_list([], TODAY, -1)

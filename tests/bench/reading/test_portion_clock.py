"""The portion's clock: open, lidded, film-wrapped; limits of the method, defaults marked as common practice."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from isohume.bench.reading import ClockLimits, judge_clock
from isohume.bench.reading.portion_clock import Cover, in_hours
from isohume.foundation.quantity import InputError, UnknownNameError

SIX = datetime(2026, 11, 24, 6, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("cover", "minutes", "words"),
    [
        ("open", 4, "open for 4 min, 6 min left"),
        ("lidded", 125, "lidded for 2 h 05 min, 1 h 55 min left"),
        ("film-wrapped", 60 * 30, "film-wrapped for 30 h, 18 h left"),
        ("open", 14, "open for 14 min, beyond the method's 10 min"),
        ("lidded", 300, "lidded for 5 h, beyond the method's 4 h"),
        ("film-wrapped", 60 * 51, "film-wrapped for 2 d 3 h, beyond the method's 2 d"),
    ],
)
def test_words_say_how_long_and_how_long_still(cover: Cover, minutes: int, words: str) -> None:
    found = judge_clock(cover, SIX, SIX + timedelta(minutes=minutes))
    assert found.words == words
    assert found.minutes == minutes
    assert found.over == ("beyond" in words)
    assert "common practice, no source" in found.reasons[0]


@pytest.mark.parametrize(("seconds", "over", "left"), [(599, False, 1 / 60), (600, False, 0), (601, True, 0)])
def test_at_the_limit_itself_a_portion_is_not_over(seconds: int, over: bool, left: float) -> None:
    found = judge_clock("open", SIX, SIX + timedelta(seconds=seconds))
    assert found.over is over
    assert found.left_minutes == pytest.approx(left)


def test_the_methods_own_limit_is_not_called_common_practice() -> None:
    found = judge_clock("lidded", SIX, SIX + timedelta(hours=5), ClockLimits(lidded_h=6))
    assert not found.over
    assert found.left_minutes == 60
    assert "common practice" not in found.reasons[0]
    assert "6 h" in found.reasons[0]


def test_a_lidded_portion_is_sent_to_the_film_and_one_that_is_over_to_a_fresh_portion() -> None:
    assert "film" in judge_clock("lidded", SIX, SIX).reasons[-1]
    assert "lid it" in judge_clock("open", SIX, SIX).reasons[-1]
    assert "fresh portion" in judge_clock("lidded", SIX, SIX + timedelta(hours=9)).reasons[-1]


def test_zones_do_not_matter() -> None:
    east = timezone(timedelta(hours=9))
    assert judge_clock("open", SIX.astimezone(east), SIX + timedelta(minutes=3)).minutes == 3


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(InputError, match="since"):
        judge_clock("open", SIX, SIX - timedelta(seconds=1))
    with pytest.raises(InputError, match="offset"):
        judge_clock("open", SIX.replace(tzinfo=None), SIX)
    with pytest.raises(UnknownNameError, match="film-wrapped"):
        judge_clock("wrapped", SIX, SIX)  # type: ignore[arg-type]
    for limits in ({"open_min": 0}, {"lidded_h": float("inf")}, {"film_h": float("nan")}):
        with pytest.raises(InputError, match=next(iter(limits))):
            ClockLimits(**limits)


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0, "0 min"), (59.99, "59 min"), (60, "1 h"), (61, "1 h 01 min"), (2880, "2 d"), (2999, "2 d 1 h")],
)
def test_times_as_people_say_them(minutes: float, words: str) -> None:
    assert in_hours(minutes) == words

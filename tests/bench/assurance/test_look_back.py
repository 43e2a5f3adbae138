"""The window of a failed check: what a closing check, a void one, another range do to it. By hand, then by property."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from isohume.bench.assurance.look_back import PastCheck, PastReading, ReferenceInCheck, Window, failed_ranges, window_of
from isohume.foundation.quantity.errors import InputError

TUESDAY = datetime(2026, 9, 15, 6, 5, tzinfo=UTC)
WEDNESDAY = datetime(2026, 9, 16, 6, 10, tzinfo=UTC)
FOUR = (0.1130, 0.7529)
REFERENCES = [
    ReferenceInCheck("LiCl", 0.1130, True),
    ReferenceInCheck("MgCl2", 0.3278, True),
    ReferenceInCheck("Mg(NO3)2", 0.5289, False),
    ReferenceInCheck("NaCl", 0.7529, False),
]


def check(number: int, at: datetime, covers: tuple[float, float] | None = FOUR, **more: object) -> PastCheck:
    given: dict[str, object] = {"kind": "opening", "passed": True, **more}
    return PastCheck(number, str(given.pop("kind")), at, at + timedelta(minutes=15), covers=covers, **given)  # type: ignore[arg-type]


FAILED = check(9, WEDNESDAY, None, passed=False)
GOOD = check(1, TUESDAY)


def window(*others: PastCheck) -> Window:
    return window_of(FAILED, REFERENCES, others)


def test_everything_read_since_the_good_check_is_at_risk() -> None:
    found = window(GOOD)
    assert found.since == TUESDAY
    assert found.puts_at_risk(PastReading(0.64, TUESDAY + timedelta(hours=2)))
    assert found.puts_at_risk(PastReading(0.64, WEDNESDAY + timedelta(minutes=5))), "read while the check was read"
    assert not found.puts_at_risk(PastReading(0.64, TUESDAY - timedelta(minutes=1)))


def test_a_closing_check_that_passed_shrinks_it_to_nothing() -> None:
    """Row 5 of the feature table: a closing pass shrinks the list to 0."""
    closing = check(5, TUESDAY + timedelta(hours=9), kind="closing")
    read = [TUESDAY + timedelta(minutes=n) for n in range(30, 540, 7)]
    assert sum(window(GOOD).puts_at_risk(PastReading(0.64, at)) for at in read) == len(read)
    assert sum(window(GOOD, closing).puts_at_risk(PastReading(0.64, at)) for at in read) == 0
    after = closing.last_read_at + timedelta(minutes=1)
    assert window(GOOD, closing).puts_at_risk(PastReading(0.64, after)), "what was read after it is not protected by it"


@pytest.mark.parametrize("change", [{"void": True}, {"passed": False}, {"covers": None}, {"covers": (0.113, 0.3278)}])
def test_what_protects_nothing_shrinks_nothing(change: dict[str, object]) -> None:
    """Void, failed, fewer than two references, or another range."""
    closing = check(5, TUESDAY + timedelta(hours=9), **{"kind": "closing", **change})
    assert window(GOOD, closing).puts_at_risk(PastReading(0.64, TUESDAY + timedelta(hours=2)))


def test_a_closing_check_of_part_of_the_range_protects_that_part() -> None:
    closing = check(5, TUESDAY + timedelta(hours=9), (0.5289, 0.7529))
    found = window(GOOD, closing)
    at = TUESDAY + timedelta(hours=2)
    assert not found.puts_at_risk(PastReading(0.64, at))
    assert found.puts_at_risk(PastReading(0.45, at)), "between MgCl2 and Mg(NO3)2 nothing closed it"
    assert found.since == TUESDAY


def test_where_both_references_were_within_the_failed_check_was_true() -> None:
    found = window(GOOD)
    at = TUESDAY + timedelta(hours=2)
    assert not found.puts_at_risk(PastReading(0.29, at))
    assert found.puts_at_risk(PastReading(0.08, at)), "below the lowest reference nothing brackets it"
    assert found.puts_at_risk(PastReading(0.45, at))
    assert found.puts_at_risk(PastReading(0.80, at)), "beyond a reference that was not within"
    assert failed_ranges(REFERENCES) == ((0.3278, 0.5289), (0.5289, 0.7529))


def test_beyond_the_outermost_reference_one_neighbour_does_not_make_it_true() -> None:
    """NaCl was within, KCl low by 0.02: 0.648 has only NaCl beside it, and a step at a sensor has no known shape."""
    references = [ReferenceInCheck("NaCl", 0.7529, True), ReferenceInCheck("KCl", 0.8434, False, -0.02)]
    opening = check(1, TUESDAY, (0.3278, 0.7529))
    found = window_of(FAILED, references, [opening])
    at = TUESDAY + timedelta(hours=2)
    assert found.puts_at_risk(PastReading(0.648, at))
    # a closing check of the same two references has only one beside 0.648 as well: it protects no more than they do
    closing = check(5, TUESDAY + timedelta(hours=9), (0.7529, 0.8434), kind="closing")
    assert window_of(FAILED, references, [opening, closing]).puts_at_risk(PastReading(0.648, at))
    assert not window_of(FAILED, references, [opening, closing]).puts_at_risk(PastReading(0.80, at))
    whole = check(6, TUESDAY + timedelta(hours=10), (0.3278, 0.8434), kind="closing")
    assert not window_of(FAILED, references, [opening, closing, whole]).puts_at_risk(PastReading(0.648, at))


def test_beyond_what_the_instrument_was_opened_for_the_outermost_reference_is_asked() -> None:
    """0.08 was never bracketed: a check that covers LiCl protects it as far as anything did, and no list is endless."""
    at = TUESDAY + timedelta(hours=2)
    closing = check(5, TUESDAY + timedelta(hours=9), kind="closing")
    narrow = check(5, TUESDAY + timedelta(hours=9), (0.3278, 0.7529), kind="closing")
    assert not window(GOOD, closing).puts_at_risk(PastReading(0.08, at))
    assert window(GOOD, narrow).puts_at_risk(PastReading(0.08, at))
    assert window(GOOD, narrow).since == TUESDAY


def test_a_check_without_a_usable_reference_failed_everywhere() -> None:
    found = window_of(FAILED, [], [GOOD])
    for a_w in (0.05, 0.29, 0.64, 0.9):
        assert found.puts_at_risk(PastReading(a_w, TUESDAY + timedelta(hours=2)))
        assert not found.puts_at_risk(PastReading(a_w, TUESDAY - timedelta(hours=2)))
    assert (found.since, found.failed_ranges) == (TUESDAY, ())
    assert window_of(FAILED, [], []).puts_at_risk(PastReading(0.64, TUESDAY - timedelta(days=300)))


def test_a_value_is_placed_among_what_the_references_read() -> None:
    """Between 0.3278 and 0.5289 both were within, but Mg(NO3)2 read 0.5245: 0.526 lies above what it read."""
    references = [
        ReferenceInCheck("MgCl2", 0.3278, True, 0.0021),
        ReferenceInCheck("Mg(NO3)2", 0.5289, True, -0.0044),
        ReferenceInCheck("NaCl", 0.7529, False, -0.012),
    ]
    found, at = window_of(FAILED, references, [GOOD]), TUESDAY + timedelta(hours=2)
    assert not found.puts_at_risk(PastReading(0.5240, at))
    assert found.puts_at_risk(PastReading(0.5260, at))
    assert found.puts_at_risk(PastReading(0.3290, at))


def test_a_value_on_another_scale_is_not_confirmed_by_references_on_this_one() -> None:
    at = TUESDAY + timedelta(hours=2)
    under = window_of(FAILED, REFERENCES, [GOOD], scale="correction 1")
    assert not under.puts_at_risk(PastReading(0.29, at, scale="correction 1"))
    assert under.puts_at_risk(PastReading(0.29, at))
    assert window(GOOD).puts_at_risk(PastReading(0.29, at, scale="correction 1"))


def test_a_check_under_another_method_protects_nothing_and_a_failed_one_speaks_against_all() -> None:
    other = check(5, TUESDAY + timedelta(hours=9), kind="closing", method=40)
    found, at = window(GOOD, other), TUESDAY + timedelta(hours=2)
    assert found.puts_at_risk(PastReading(0.64, at))
    assert not found.puts_at_risk(PastReading(0.64, at, method=40))
    later = TUESDAY + timedelta(hours=10)
    assert found.puts_at_risk(PastReading(0.64, later, method=40)), "the sensor is the same"
    assert (found.since, found.since_of(40)) == (TUESDAY, other.first_read_at)
    assert found.last_good == GOOD


def test_a_check_that_failed_by_scatter_alone_failed_everywhere() -> None:
    true = [ReferenceInCheck(r.name, r.a_w, True) for r in REFERENCES]
    assert window_of(FAILED, true, [GOOD]).puts_at_risk(PastReading(0.29, TUESDAY + timedelta(hours=2)))


def test_it_ends_with_the_next_check_that_passed() -> None:
    later = check(12, WEDNESDAY + timedelta(minutes=40))
    at = WEDNESDAY + timedelta(minutes=20)
    assert window(GOOD).until is None
    assert window(GOOD, later).until == later.last_read_at
    assert window(GOOD, later).puts_at_risk(PastReading(0.64, at))
    assert not window(GOOD, later).puts_at_risk(PastReading(0.64, later.last_read_at))


def test_without_any_good_check_everything_before_is_at_risk() -> None:
    assert window().since is None
    assert window().puts_at_risk(PastReading(0.64, TUESDAY - timedelta(days=300)))


def test_a_solution_at_another_temperature_is_the_same_reference() -> None:
    """NaBr moves by 0.0031 a degC (job.md, F16): a closing check a degree warmer still covers it."""
    closing = check(5, TUESDAY + timedelta(hours=9), (0.5289 + 0.003, 0.7529 - 0.0004))
    failed_between = [ReferenceInCheck("Mg(NO3)2", 0.5289, False), ReferenceInCheck("NaCl", 0.7529, False)]
    found = window_of(FAILED, failed_between, [GOOD, closing])
    assert not found.puts_at_risk(PastReading(0.64, TUESDAY + timedelta(hours=2)))


def test_what_was_read_on_the_scale_before_an_adjustment_is_for_the_as_found_check() -> None:
    """The failed as-found check looks back on it; a deviation found after the adjustment says nothing about it."""
    adjusted = TUESDAY + timedelta(hours=5)
    found = window_of(FAILED, REFERENCES, [GOOD], not_before=adjusted)
    assert found.since == adjusted
    assert not found.puts_at_risk(PastReading(0.64, adjusted - timedelta(minutes=1)))
    assert found.puts_at_risk(PastReading(0.64, adjusted + timedelta(minutes=1)))


@pytest.mark.parametrize("failed", [check(9, WEDNESDAY), check(9, WEDNESDAY, passed=False, void=True)])
def test_only_a_failed_check_that_is_not_void_looks_back(failed: PastCheck) -> None:
    with pytest.raises(InputError, match="a failed check"):
        window_of(failed, REFERENCES, [GOOD])


hours = st.integers(-24 * 40, 24 * 10).map(lambda n: WEDNESDAY + timedelta(hours=n, minutes=30))
ranges = st.sampled_from([FOUR, (0.3278, 0.7529), (0.5289, 0.7529), (0.113, 0.5289), (0.069, 0.9025), None])
checks = st.builds(
    lambda at, covers, passed, void: check(int(at.timestamp()), at, covers, passed=passed, void=void),
    hours, ranges, st.booleans(), st.booleans(),
)  # fmt: skip


@given(st.lists(checks, max_size=12), st.floats(0.05, 0.95), hours)
def test_no_reading_outside_the_window_and_none_that_a_check_protects(
    others: list[PastCheck], a_w: float, at: datetime
) -> None:
    """Told anew from the definition: a good check between the reading and the failure, about the value."""
    found, reading = window(*others), PastReading(a_w, at)
    good = [c for c in others if c.passed and not c.void and c.covers]
    earlier = sorted((c for c in good if c.last_read_at < FAILED.first_read_at), key=lambda c: c.last_read_at)
    # beyond all references of the failed check and of the last opening one, the outermost of them is asked for
    ends = [0.1130, 0.7529, *(earlier[-1].covers or () if earlier else ())]
    asked = min(max(a_w, min(ends)), max(ends))
    about = [c for c in good if c.covers and c.covers[0] - 0.004 <= asked <= c.covers[1] + 0.004]
    protected = any(at <= c.first_read_at and c.last_read_at < FAILED.first_read_at for c in about)
    passed_since = any(FAILED.last_read_at < c.first_read_at and c.last_read_at <= at for c in about)
    true_there = 0.1130 <= a_w <= 0.3278
    assert found.puts_at_risk(reading) == (not true_there and not protected and not passed_since)
    if found.puts_at_risk(reading):
        assert found.since is None or at > found.since
        assert found.until is None or at < found.until

"""After a failed check nothing careful is left out before adjusting (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.assurance.after_failure import (
    Facts,
    after_failure,
    reasons_against_adjusting,
    reasons_against_repeating,
)
from isohume.bench.assurance.answered import CheckFact, answers

FAILED_AT = datetime(2026, 9, 16, 6, 10, tzinfo=UTC)
FIRST, SECOND = frozenset({("NaCl", "N-04")}), frozenset({("NaCl", "N-07")})
OTHER = frozenset({("MgCl2", "M-09")})


def at(minutes: int) -> datetime:
    """So long after the failure."""
    return FAILED_AT + timedelta(minutes=minutes)


def check(minutes: int, lots: frozenset[tuple[str, str]] = FIRST, passed: bool = False) -> CheckFact:
    """A check that begins then and takes five minutes."""
    read = frozenset(solution for solution, _ in lots)
    sides = (read, frozenset[str]()) if passed else (frozenset[str](), read)
    return CheckFact(f"check {20 + minutes}", at(minutes), at(minutes + 5), passed, lots, not passed, *sides)


FAILURE = CheckFact("check 12", FAILED_AT - timedelta(minutes=5), FAILED_AT, False, FIRST)


def facts(
    *later: CheckFact, cleaned: tuple[int, ...] = (), poured: tuple[int, ...] = (), adjusted: tuple[int, ...] = ()
) -> Facts:
    """What happened since check 12 failed on NaCl."""
    return Facts(
        FAILURE, frozenset({"NaCl"}), later, tuple(map(at, poured)), tuple(map(at, cleaned)), tuple(map(at, adjusted))
    )


def keys(of: Facts) -> list[str]:
    """The steps that may be done now."""
    return [step.key for step in after_failure(of).next]


def test_the_first_thing_is_to_repeat_once() -> None:
    assert keys(facts()) == ["repeat", "fresh portion", "clean", "second lot", "withdraw"]
    assert reasons_against_repeating(facts()) == ()


def test_a_second_repeat_needs_a_step_in_between() -> None:
    again = facts(check(10))
    [why] = reasons_against_repeating(again)
    assert "Check 12 failed and check 30 was read after it with nothing changed" in why
    assert "repeat" not in keys(again)
    for step in (facts(check(10), poured=(20,)), facts(check(10), cleaned=(20,))):
        assert reasons_against_repeating(step) == ()
    assert reasons_against_repeating(again, SECOND) == ()  # a second lot is a step itself
    assert reasons_against_repeating(again, OTHER) != ()  # another solution is not: it did not fail


@pytest.mark.parametrize("poured", [(20,), ()])
def test_after_each_step_one_check(poured: tuple[int, ...]) -> None:
    cleaned = () if poured else (20,)
    assert reasons_against_repeating(facts(check(10), check(30), poured=poured, cleaned=cleaned)) != ()


def test_failing_twice_does_not_let_one_adjust_before_a_cleaning_is_logged() -> None:
    """Row 3 of the job."""
    against = reasons_against_adjusting(facts(check(10)))
    assert "No cleaning is logged after check 12 failed" in against[0]
    adjust = next(step for step in after_failure(facts(check(10))).steps if step.key == "adjust")
    assert not adjust.allowed
    assert "clean first" in adjust.why


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (facts(check(10), check(20, SECOND), cleaned=(-30,)), "No cleaning is logged"),  # from before the failure
        (facts(check(10), check(15, SECOND), cleaned=(30,)), "No check failed after the cleaning"),
        (facts(check(10), check(40), cleaned=(30,)), "Only one lot"),
        (facts(check(10), check(40, FIRST | OTHER), cleaned=(30,)), "Only one lot"),  # a lot of another solution
    ],
)
def test_what_stands_against_adjusting(found: Facts, says: str) -> None:
    assert [says in why for why in reasons_against_adjusting(found)] == [True]


def test_when_all_was_done_and_it_still_fails_it_may_be_adjusted() -> None:
    done = facts(check(10), check(40), check(50, SECOND), cleaned=(30,))
    assert reasons_against_adjusting(done) == ()
    assert "adjust" in keys(done)
    assert [step.key for step in after_failure(done).steps if step.done] == [
        "repeat",
        "clean",
        "check after cleaning",
        "second lot",
    ]


def test_after_adjusting_the_as_left_check_comes_first() -> None:
    base = (check(10), check(40), check(50, SECOND))
    adjusted = facts(*base, cleaned=(30,), adjusted=(60,))
    assert "as left" in keys(adjusted)
    assert "no as-left check" in reasons_against_adjusting(adjusted)[0]
    assert reasons_against_repeating(adjusted) == ()
    failed_again = facts(*base, check(70), cleaned=(30,), adjusted=(60,))
    assert "No cleaning is logged after the last adjustment" in reasons_against_adjusting(failed_again)[0]
    assert reasons_against_repeating(failed_again) != ()


def test_a_check_that_passes_ends_it() -> None:
    passed = facts(check(10), check(40, passed=True), cleaned=(30,))
    found = after_failure(passed)
    assert (found.passed, found.next) == (passed.later[1], ())
    assert "nothing to adjust" in reasons_against_adjusting(passed)[0]
    assert reasons_against_repeating(passed) == ()


def test_a_check_that_leaves_out_what_failed_ends_nothing() -> None:
    """NaCl failed; MgCl2 alone passes: the instrument was not shown to be right where it was wrong."""
    aside = check(10, OTHER, passed=True)
    found = after_failure(facts(aside))
    assert found.passed is None
    assert [step.key for step in found.next] == ["repeat", "fresh portion", "clean", "second lot", "withdraw"]
    assert found.steps[0].why.startswith("Check 30 passed, but did not read NaCl, which failed before")
    assert reasons_against_repeating(facts(aside)) == ()  # it was no repeat
    cleaned = facts(check(40, OTHER, passed=True), cleaned=(30,))
    assert "No check failed after the cleaning" in reasons_against_adjusting(cleaned)[0]
    assert after_failure(facts(aside, check(20, SECOND | OTHER, passed=True))).passed is not None  # any lot


def test_what_a_repeat_found_wrong_is_read_again_too() -> None:
    worse, salt, both = check(10, OTHER), check(20, passed=True), check(30, FIRST | OTHER, passed=True)
    assert after_failure(facts(worse, salt)).passed is None
    assert after_failure(facts(worse, salt, both)).passed == both


def test_after_adjusting_the_as_left_check_reads_what_failed() -> None:
    base = (check(10), check(40), check(50, SECOND))
    aside = facts(*base, check(70, OTHER, passed=True), cleaned=(30,), adjusted=(60,))
    steps = {step.key: step for step in after_failure(aside).steps}
    assert (steps["as left"].done, steps["as left"].allowed) == (False, True)
    assert "did not read NaCl" in steps["as left"].why
    assert "no as-left check yet" in reasons_against_adjusting(aside)[0]


def test_a_check_that_began_before_the_failed_one_ended_does_not_count() -> None:
    beside = replace(check(10, passed=True), first_read_at=FAILED_AT)
    assert after_failure(facts(beside)).passed is None
    assert "began before check 12 had ended" in after_failure(facts(beside)).steps[0].why
    after = replace(beside, first_read_at=at(1))
    assert after_failure(facts(after)).passed == after


def test_what_each_check_says() -> None:
    """By hand: good; NaCl fails; MgCl2 alone; NaCl alone; then a good one, after which nothing is open."""
    told = [
        check(0, FIRST | OTHER, passed=True), check(10), check(20, OTHER, passed=True), check(30, passed=True),
        check(40, OTHER), check(50, passed=True), check(60, FIRST | OTHER, passed=True),
    ]  # fmt: skip
    found = list(answers(told))
    assert [answer.counts for answer in found] == [True, False, False, True, False, False, True]
    assert [sorted(answer.left_out) for answer in found] == [[], [], ["NaCl"], [], [], ["MgCl2"], []]


def test_a_check_that_passes_and_lets_nothing_be_measured_is_no_repeat() -> None:
    """A closing check that passed, or one reference alone: it neither ends the sequence nor uses up the repeat."""
    closing = replace(check(10), failed=False)
    assert reasons_against_repeating(facts(closing)) == ()
    after = facts(closing, check(20, SECOND), replace(check(40), failed=False), cleaned=(30,))
    assert "No check failed after the cleaning" in reasons_against_adjusting(after)[0]


@pytest.mark.parametrize(
    ("found", "key"),
    [
        (facts(), "repeat"),
        (facts(check(10)), "fresh portion"),
        (facts(check(10), check(30), poured=(20,)), "clean"),
        (facts(cleaned=(20,)), "check after cleaning"),  # plant A's Wednesday: a smeared rim is cleaned at once
        (facts(check(30), cleaned=(20,)), "second lot"),
        (facts(check(30), check(40, SECOND), cleaned=(20,)), "adjust"),
        (facts(check(30), check(40, SECOND), cleaned=(20,), adjusted=(50,)), "as left"),
        (facts(check(30), check(40, SECOND), check(60), cleaned=(20,), adjusted=(50,)), "withdraw"),
    ],
)
def test_one_step_is_what_practice_would_take_now(found: Facts, key: str) -> None:
    recommended = after_failure(found).recommended
    assert recommended is not None
    assert recommended.key == key


def test_out_of_use_is_a_step_taken() -> None:
    out = after_failure(replace(facts(check(10)), in_use=False))
    assert next(step for step in out.steps if step.key == "withdraw").done


times = st.integers(1, 200)
happened = st.builds(
    lambda later, cleaned, poured: facts(
        *(check(m, lots) for m, lots in sorted(later, key=lambda one: one[0])),
        cleaned=tuple(cleaned),
        poured=tuple(poured),
    ),
    st.lists(st.tuples(times, st.sampled_from([FIRST, SECOND, OTHER | FIRST])), max_size=5),
    st.lists(times, max_size=3),
    st.lists(times, max_size=2),
)


@settings(derandomize=True, max_examples=200)
@given(happened)
def test_nothing_is_adjusted_without_a_cleaning_a_check_after_it_and_a_second_lot(found: Facts) -> None:
    if reasons_against_adjusting(found):
        return
    assert found.cleanings
    assert any(one.first_read_at >= min(found.cleanings) for one in found.later)
    assert any(("NaCl", "N-07") in one.lots for one in found.later)
    assert len(found.later) >= 1


@settings(derandomize=True, max_examples=200)
@given(happened)
def test_there_is_always_a_way_on(found: Facts) -> None:
    assert after_failure(found).next

"""History never releases: what a budget from historical, unverified data does to a decision."""

from __future__ import annotations

from decimal import Decimal

import pytest

from isohume.bench.decision.budget import own_data_budget
from isohume.bench.decision.specification import Specification
from isohume.bench.decision.unverified_budget import HELD, SAID, is_unverified, rest_on_source
from isohume.bench.decision.verdict import Decision, decide, undecided
from isohume.foundation.quantity.limits import Limit

FROM_BOOK = "historical, unverified: 10 of 14 checks"


def decided(kind: str, value: str = "0.80", guard: str = "1.64", conditional: bool = False) -> Decision:
    rule = Specification(None, Limit(Decimal("0.85"), "<="), kind, Decimal(guard), conditional)
    return decide(Decimal(value), 0.004, rule)


def test_a_pass_under_a_safety_limit_is_held_with_the_reason() -> None:
    found = rest_on_source(decided("safety"), FROM_BOOK)
    assert (found.verdict, found.disposition) == ("pass", "hold")
    assert found.reasons[-1] == HELD
    assert "releases no food-safety limit until" in HELD


def test_a_quality_limit_keeps_its_disposition_and_says_so() -> None:
    found = rest_on_source(decided("quality"), FROM_BOOK)
    assert (found.disposition, found.reasons[-1]) == ("release", SAID)


def test_a_hold_stays_a_hold() -> None:
    assert rest_on_source(decided("quality", "0.90"), FROM_BOOK).disposition == "hold"
    assert rest_on_source(decided("safety", "0.90"), FROM_BOOK).disposition == "hold"


def test_own_data_change_nothing_and_neither_does_a_decision_without_a_number() -> None:
    assert rest_on_source(decided("safety"), "Own data 2026-06-17 to 2026-09-16") == decided("safety")
    none = undecided(decided("safety").specification, "no verdict", ("No usable portion.",))
    assert rest_on_source(none, FROM_BOOK) == none


@pytest.mark.parametrize("source", [FROM_BOOK, "HISTORICAL,  unverified", "s_r: Historical, unverified; rest own"])
def test_the_words_are_found_however_they_are_typed(source: str) -> None:
    assert is_unverified(source)
    label = own_data_budget(Decimal("0.003"), Decimal("0.002"), 2, False, source).label
    assert label.startswith("historical, unverified data")


@pytest.mark.parametrize("source", ["", "Own data", "unverified", "historical"])
def test_other_words_are_not_taken_for_them(source: str) -> None:
    assert not is_unverified(source)

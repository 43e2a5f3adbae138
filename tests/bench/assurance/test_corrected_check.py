"""A check under a correction: judged as read and corrected, on plant A's low Wednesday."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from isohume.bench.assurance import CheckReading, judge_check
from isohume.bench.assurance.corrected_check import judge_corrected_check
from isohume.bench.assurance.correction import Correction, fit_correction, make_correction, references_of
from isohume.foundation.quantity import InputError

SINCE = datetime(2026, 9, 16, 7, 0, tzinfo=UTC)
AT = SINCE + timedelta(minutes=10)


def read(*values: tuple[str, float], at: datetime = AT) -> list[CheckReading]:
    """One reading a solution at 25 degC."""
    return [CheckReading(solution, None, 25.0, a_w, at) for solution, a_w in values]


@pytest.fixture
def low() -> Correction:
    """What the check of Wednesday says: Mg(NO3)2 low by 0.009, NaCl by 0.012."""
    check = judge_check(read(("Mg(NO3)2", 0.5199), ("NaCl", 0.7409)), 0.005, 0.0015)
    assert check.verdict == "fail"
    return make_correction(fit_correction(references_of(check)), "OW-1", "1", SINCE, "check 12")


def test_both_are_judged_and_the_corrected_one_says_so(low: Correction) -> None:
    found = judge_corrected_check(read(("Mg(NO3)2", 0.5205), ("NaCl", 0.7405)), low, 0.005, 0.0015)
    assert (found.as_read.verdict, found.corrected.verdict) == ("fail", "pass")
    assert [s.deviation for s in found.as_read.solutions] == pytest.approx([-0.0084, -0.0124], abs=0.0001)
    # what reading 0.0006 higher and 0.0004 lower than at the correction leaves
    assert [s.deviation for s in found.corrected.solutions] == pytest.approx([0.0006, -0.0004], abs=0.0001)
    assert found.corrected.covers_a_w == pytest.approx((0.5289, 0.7529), abs=0.0002)
    assert "correction 1 of OW-1" in found.corrected.reasons[-1]
    assert "as read, without it, the check failed" in found.corrected.reasons[-1]


def test_an_outermost_reference_that_drifts_out_of_the_range_fails(low: Correction) -> None:
    """It is judged by what it should read: otherwise a drifting end would be left out, and the check would pass."""
    found = judge_corrected_check(read(("Mg(NO3)2", 0.5199), ("NaCl", 0.7509)), low, 0.005, 0.0015)
    assert found.corrected.verdict == "fail"
    assert found.corrected.solutions[1].deviation == pytest.approx(0.0101, abs=0.0002)


def test_a_reference_outside_the_correction_covers_nothing(low: Correction) -> None:
    values = (("LiCl", 0.1131), ("Mg(NO3)2", 0.5199), ("NaCl", 0.7409))
    found = judge_corrected_check(read(*values), low, 0.005, 0.0015)
    assert found.corrected.covers_a_w == pytest.approx((0.5289, 0.7529), abs=0.0002)
    assert [s.solution for s in found.corrected.solutions] == ["Mg(NO3)2", "NaCl"]
    assert "LiCl lies outside the references" in found.corrected.reasons[0]
    alone = judge_corrected_check(read(("LiCl", 0.1131)), low, 0.005, 0.0015)
    assert (alone.corrected.verdict, alone.corrected.covers_a_w) == ("fail", None)
    (kept,) = alone.corrected.solutions
    assert (kept.solution, kept.mean, kept.within) == ("LiCl", 0.1131, False), "kept as read; nothing of it passes"
    assert alone.as_read.solutions[0].within


def test_one_reference_alone_covers_no_range_and_says_so(low: Correction) -> None:
    found = judge_corrected_check(read(("NaCl", 0.7409)), low, 0.005, 0.0015)
    assert (found.corrected.verdict, found.corrected.covers_a_w) == ("pass", None)
    assert any("no range is covered" in reason for reason in found.corrected.reasons)


def test_the_correction_does_not_make_the_check_laxer(low: Correction) -> None:
    """u of a deviation is that of instrument and reference: 0.0015 and 0.0006 for NaCl."""
    found = judge_corrected_check(read(("Mg(NO3)2", 0.5199), ("NaCl", 0.7409)), low, 0.005, 0.0015)
    assert found.corrected.solutions[1].u_deviation == pytest.approx((0.0015**2 + 0.0006**2) ** 0.5, rel=1e-6)


def test_a_check_from_before_the_correction_says_nothing_of_it(low: Correction) -> None:
    with pytest.raises(InputError, match=r"correction.since: .*says nothing of corrected readings"):
        judge_corrected_check(read(("NaCl", 0.7409), at=SINCE - timedelta(minutes=1)), low, 0.005, 0.0015)


def test_a_correction_of_nothing_judges_as_read() -> None:
    none = Correction("OW-1", "1", Decimal(0), Decimal(1), 0.0, 0.0, 0.0, Decimal("0.3"), Decimal("0.8"), SINCE, "")
    found = judge_corrected_check(read(("Mg(NO3)2", 0.5301), ("NaCl", 0.7500)), none, 0.005, 0.0015)
    assert found.corrected.solutions == found.as_read.solutions

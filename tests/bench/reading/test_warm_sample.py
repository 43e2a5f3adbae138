"""The warm-sample guard: limits computed from saturation pressure, defaults marked common practice."""

from __future__ import annotations

import pytest

from isohume.bench.reading import judge_warm_sample
from isohume.foundation.quantity import InputError


def test_a_wet_sample_two_kelvin_warm_would_condense() -> None:
    """27 degC in a 25 degC block at 0.93: condensation above 1.2 K (p_sat of IAPWS: 0.93 p(26.2) = p(25))."""
    for surface in (False, True):
        found = judge_warm_sample(27, 25, 0.93, surface, override_reason="in a hurry")
        assert found.answer == "would condense"
        assert not found.may_read
        assert found.condenses_above_k == pytest.approx(1.2, abs=0.05)
        assert "1.2 K" in found.reasons[0]


def test_where_nothing_condenses_a_surface_thermometer_goes_on_with_the_mismatch_in_its_budget() -> None:
    found = judge_warm_sample(27, 25, 0.40, measures_surface_temperature=True)
    assert found.answer == "go"
    assert 0 < found.u_mismatch < 0.01


def test_without_one_it_waits_and_says_what_it_would_read() -> None:
    found = judge_warm_sample(27, 25, 0.40, measures_surface_temperature=False)
    assert found.answer == "wait"
    assert found.error_if_ignored == pytest.approx(0.05, abs=0.005)
    assert "about 0.05 high" in found.reasons[0]


def test_an_override_needs_a_reason_which_is_kept_and_costs_uncertainty() -> None:
    found = judge_warm_sample(27, 25, 0.40, False, override_reason="line stopped, only portion left")
    assert found.answer == "go with override"
    assert found.may_read
    assert "line stopped" in found.reasons[0]
    assert found.u_mismatch == pytest.approx(found.error_if_ignored / 3**0.5)
    assert judge_warm_sample(27, 25, 0.40, False, override_reason="   ").answer == "wait"


@pytest.mark.parametrize(("sample", "answer"), [(25.5, "go"), (25.6, "wait"), (24.5, "go"), (24.4, "wait")])
def test_the_default_limit_without_a_surface_thermometer_is_half_a_kelvin(sample: float, answer: str) -> None:
    assert judge_warm_sample(sample, 25, 0.40, False).answer == answer


def test_the_tolerable_excess_shrinks_as_a_w_rises() -> None:
    """About 0.9 degC at 0.95, about 12 degC at 0.50 (common practice figures, computed)."""
    assert judge_warm_sample(25, 25, 0.95, True).condenses_above_k == pytest.approx(0.9, abs=0.05)
    assert judge_warm_sample(25, 25, 0.50, True).condenses_above_k == pytest.approx(12, abs=0.5)


@pytest.mark.parametrize("expected", [0.0, -0.1, 1.2, float("nan")])
def test_a_meaningless_expectation_is_refused(expected: float) -> None:
    with pytest.raises(InputError, match="expected_a_w"):
        judge_warm_sample(25, 25, expected, True)


def test_no_reason_reads_a_sample_far_from_the_block() -> None:
    assert judge_warm_sample(5, 25, 0.30, False, override_reason="line stopped").answer == "wait"

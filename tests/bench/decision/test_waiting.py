"""Whether waiting can still change a verdict: figures of JCGM 106, the safe side only, and what more width may do."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.decision import Specification, Waiting, decide, waiting_could_change
from isohume.foundation.quantity import InputError, Limit

MAXIMUM = Limit(Decimal("0.85"), "<=")
SAFETY = Specification(None, MAXIMUM)
QUALITY = Specification(None, MAXIMUM, kind="quality")
LENIENT = Specification(None, MAXIMUM, kind="quality", allow_conditional=True)
BETWEEN = Specification(Limit(Decimal("0.48"), ">="), Limit(Decimal("0.58"), "<="), kind="quality")
MINIMUM = Specification(Limit(Decimal("0.48"), ">="), None)
SPECIFICATIONS = (SAFETY, QUALITY, LENIENT, BETWEEN, MINIMUM, Specification(None, MAXIMUM, guard=Decimal(0)))
U = 0.004


@pytest.mark.parametrize(
    ("low", "high", "decided", "verdicts", "act", "chances"),
    [
        # p = Phi((0.85 - y)/0.004), JCGM 106, 7: 99.4 % at 0.840, 97.7 at 0.842, 95.0 at 0.8434, 50 at 0.850 (the
        # trade's own table); verdicts in ILAC-G8's words, acceptance limit 0.842
        (0.834, 0.840, True, ("pass",), "", (0.9938, 0.99997)),
        (0.840, 0.842, True, ("pass",), "", (0.9772, 0.9938)),
        (0.840, 0.8434, False, ("conditional pass", "pass"), "", (0.9505, 0.9938)),
        (0.8434, 0.850, True, ("conditional pass",), "hold", (0.5, 0.9505)),
        (0.8434, 0.852, True, ("conditional fail", "conditional pass"), "hold", (0.3085, 0.9505)),
        (0.852, 0.858, True, ("conditional fail",), "hold", (0.0228, 0.3085)),
        (0.858, 0.859, True, ("fail", "conditional fail"), "hold", (0.0122, 0.0228)),
        (0.840, 0.852, False, ("conditional fail", "conditional pass", "pass"), "", (0.3085, 0.9938)),
    ],
)
def test_around_a_safety_maximum(
    low: float, high: float, decided: bool, verdicts: tuple[str, ...], act: str, chances: tuple[float, float]
) -> None:
    found = waiting_could_change((low + high) / 2, low, high, U, SAFETY)
    assert (found.decided, found.verdicts, found.may_act) == (decided, verdicts, act)
    assert found.value_range == (low, high)
    assert found.probability_range == pytest.approx(chances, abs=0.00005)
    assert found.verdict == (verdicts[0] if len(verdicts) == 1 else "")


def test_a_run_far_beyond_may_be_failed() -> None:
    found = waiting_could_change(0.870, 0.868, 0.872, U, SAFETY)
    assert (found.decided, found.verdict, found.may_act) == (True, "fail", "fail")
    assert "cannot change the verdict on this portion: fail" in found.words
    assert "from 0.8680 to 0.8720" in found.words
    assert "stays below 0.001" in found.words


def test_the_forecast_s_own_uncertainty_widens_the_guard_of_a_fail() -> None:
    """0.8585 is beyond 0.850 by 0.0085, more than w = 2 x 0.004; with u_forecast 0.002 w is 0.0089: only hold."""
    narrow = waiting_could_change(0.8585, 0.8584, 0.8586, U, SAFETY)
    assert (narrow.verdict, narrow.may_act) == ("fail", "fail")
    wide = waiting_could_change(0.8620, 0.85801, 0.86599, U, SAFETY)
    assert (wide.verdict, wide.may_act) == ("fail", "fail")
    skew = waiting_could_change(0.8586, 0.8584, 0.8630, U, SAFETY)
    assert (skew.verdict, skew.may_act) == ("fail", "hold")


def test_at_a_safety_limit_passing_needs_the_criterion() -> None:
    early = waiting_could_change(0.830, 0.829, 0.831, U, SAFETY, estimates_validated=True)
    assert (early.decided, early.verdict, early.may_act) == (True, "pass", "")
    assert early.words.endswith("At a food-safety limit passing needs the method's criterion met: wait for it.")
    settled = waiting_could_change(0.830, 0.829, 0.831, U, SAFETY, settled=True)
    assert settled.may_act == "pass"


def test_a_quality_limit_passes_early_where_the_method_was_validated_for_it() -> None:
    assert waiting_could_change(0.830, 0.829, 0.831, U, QUALITY).may_act == ""
    assert waiting_could_change(0.830, 0.829, 0.831, U, QUALITY, estimates_validated=True).may_act == "pass"


def test_a_rule_that_releases_conditional_passes_has_its_limit_there() -> None:
    """0.840 to 0.848 is released wherever it ends; 0.848 to 0.852 is not decided."""
    inside = waiting_could_change(0.844, 0.840, 0.848, U, LENIENT)
    assert (inside.decided, inside.verdicts, inside.may_act) == (True, ("conditional pass", "pass"), "")
    assert "side of the acceptance limit: inside, pass or conditional pass" in inside.words
    assert waiting_could_change(0.850, 0.848, 0.852, U, LENIENT).decided is False


def test_an_interval_across_two_limits_is_not_decided_by_its_ends() -> None:
    """Both ends fail, and the middle passes."""
    found = waiting_could_change(0.53, 0.40, 0.66, U, BETWEEN)
    assert (found.decided, found.verdicts[0], found.verdicts[-1], found.may_act) == (False, "fail", "pass", "")
    assert found.probability_range[1] == pytest.approx(1.0, abs=1e-9)


def test_without_a_guard_there_are_two_words() -> None:
    found = waiting_could_change(0.850, 0.840, 0.860, U, Specification(None, MAXIMUM, guard=Decimal(0)))
    assert found.verdicts == ("fail", "pass")


@pytest.mark.parametrize(
    ("value", "low", "high", "u", "field"),
    [
        (0.83, 0.84, 0.85, U, "low"),
        (0.86, 0.84, 0.85, U, "low"),
        (float("nan"), 0.84, 0.85, U, "low"),
        (0.84, 0.83, float("inf"), U, "high"),
        (0.84, 0.30, 1.70, U, "high"),  # no water activity lies beyond 0 to 1
        (0.01, -0.02, 0.04, U, "low"),
        (1.004, 0.99, 1.01, U, "high"),
        (0.84, 0.83, 0.85, 0.0, "u"),
        (0.53, 0.52, 0.54, 0.03, "guard"),
    ],
)
def test_what_makes_no_sense_is_refused(value: float, low: float, high: float, u: float, field: str) -> None:
    with pytest.raises(InputError) as error:
        waiting_could_change(value, low, high, u, BETWEEN)
    assert error.value.field == field


def test_an_interval_that_ends_at_pure_water_says_that_it_is_cut_there() -> None:
    assert "from 0.9600 to 1.0000 (95 %, cut at 1);" in waiting_could_change(0.98, 0.96, 1.0, U, SAFETY).words
    assert "from 0.8340 to 0.8400 (95 %);" in waiting_could_change(0.837, 0.834, 0.840, U, SAFETY).words


def forecasts() -> st.SearchStrategy[tuple[float, float, float]]:
    """A forecast about the limits, its lower and its upper half width."""
    half = st.floats(0.0, 0.05, allow_nan=False)
    return st.tuples(st.floats(0.3, 1.0, allow_nan=False), half, half)


def found(forecast: tuple[float, float, float], specification: Specification, **options: bool) -> Waiting:
    value, below, above = forecast
    return waiting_could_change(value, value - below, min(value + above, 1.0), 0.004, specification, **options)


@settings(max_examples=400, deadline=None)
@given(forecasts(), st.booleans(), st.sampled_from([s for s in SPECIFICATIONS if s.kind == "safety"]))
def test_it_never_passes_early_at_a_safety_limit(
    forecast: tuple[float, float, float], validated: bool, specification: Specification
) -> None:
    assert found(forecast, specification, estimates_validated=validated).may_act != "pass"


@settings(max_examples=400, deadline=None)
@given(forecasts(), st.sampled_from(SPECIFICATIONS), st.floats(0.0, 0.05), st.floats(0.0, 0.05))
def test_more_width_decides_less(
    forecast: tuple[float, float, float], specification: Specification, more_below: float, more_above: float
) -> None:
    """A wider interval decides nothing that a narrower one left open, and what could still come only grows."""
    value, below, above = forecast
    options = {"settled": True, "estimates_validated": True}
    narrow = found(forecast, specification, **options)
    wide = found((value, below + more_below, above + more_above), specification, **options)
    assert not (wide.decided and not narrow.decided)
    assert set(narrow.verdicts) <= set(wide.verdicts)
    assert wide.value_range[0] <= narrow.value_range[0]
    assert wide.value_range[1] >= narrow.value_range[1]
    assert wide.probability_range[0] <= narrow.probability_range[0]
    assert wide.probability_range[1] >= narrow.probability_range[1]
    assert (wide.may_act, narrow.may_act) not in {
        ("pass", ""), ("pass", "hold"), ("fail", ""), ("fail", "hold"), ("hold", ""), ("hold", "pass"),
    }  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(forecasts(), st.sampled_from(SPECIFICATIONS), st.floats(0.0, 1.0))
def test_what_is_decided_holds_wherever_the_run_ends(
    forecast: tuple[float, float, float], specification: Specification, share: float
) -> None:
    """Asked of the decision itself: every settled value in the interval gets a verdict that was named."""
    waiting = found(forecast, specification)
    low, high = waiting.value_range
    ends_at = min(max(low + share * (high - low), low), high)
    decision = decide(Decimal(repr(ends_at)), 0.004, specification)
    assert decision.verdict in waiting.verdicts
    if waiting.may_act in ("hold", "fail"):
        assert decision.disposition == "hold"
    if waiting.verdict:
        assert decision.verdict == waiting.verdict
    chance = decision.probability_of_conformity
    assert chance is not None
    assert waiting.probability_range[0] - 1e-12 <= chance <= waiting.probability_range[1] + 1e-12

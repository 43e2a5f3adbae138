"""Plausibility from history: a hint with the sibling or the slip that would explain the value."""

from __future__ import annotations

import math
import statistics
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from isohume.bench.reading import History, judge_plausible
from isohume.foundation.quantity import InputError

SOFT_BAR = History(31, 0.632, 0.006)
FILLING = History(24, 0.532, 0.012)
BASE = History(40, 0.29, 0.02)
HISTORY = {"soft bar": SOFT_BAR, "fruit filling": FILLING, "oat base": BASE}
VALUES = st.lists(st.floats(0.1, 1.0), min_size=1, max_size=40)


def test_a_usual_value_is_plausible_and_gives_no_hint() -> None:
    found = judge_plausible("0.6381", "soft bar", HISTORY)
    assert found.words == "plausible"
    assert found.z == pytest.approx((0.6381 - 0.632) / 0.006)
    assert (found.fits, found.would_fit, found.hint) == ((), (), "")


def test_a_value_of_a_sibling_says_which_product_it_fits() -> None:
    found = judge_plausible("0.5381", "soft bar", HISTORY)
    assert found.words == "not plausible"
    assert found.fits == ("fruit filling",)
    assert "fits fruit filling" in found.hint
    assert "not a refusal" in found.reasons[-1]


def test_two_digits_swapped_are_proposed() -> None:
    """0.618 typed for 0.681."""
    found = judge_plausible("0.618", "bar", {"bar": History(20, 0.68, 0.004)})
    assert found.would_fit == (Decimal("0.681"),)
    assert "0.681 would fit: the digits 1 and 8 swapped." in found.reasons


@pytest.mark.parametrize(
    ("typed", "meant", "why"),
    [("63.4", "0.634", "ERH in percent"), ("6.34", "0.634", "slipped"), ("0.0634", "0.634", "slipped")],
)
def test_percent_and_a_slipped_point_are_proposed(typed: str, meant: str, why: str) -> None:
    found = judge_plausible(typed, "soft bar", HISTORY)
    assert found.would_fit == (Decimal(meant),)
    assert why in found.hint


def test_a_value_nothing_explains_says_only_that_it_is_unusual() -> None:
    found = judge_plausible("0.99", "soft bar", HISTORY)
    assert found.words == "not plausible"
    assert (found.fits, found.would_fit) == ((), ())


@pytest.mark.parametrize(("n", "words"), [(7, "not judged"), (8, "not plausible")])
def test_fewer_than_eight_lots_are_not_judged_by(n: int, words: str) -> None:
    found = judge_plausible("0.9", "new bar", {"new bar": History(n, 0.6, 0.01)})
    assert found.words == words
    if n < 8:
        assert "7 lots" in found.reasons[0]
        assert found.z is None


def test_a_product_without_history_is_not_judged() -> None:
    assert "no lot" in judge_plausible("0.9", "unheard of", HISTORY).reasons[0]


def test_a_sibling_with_few_lots_is_not_named() -> None:
    history = {"soft bar": SOFT_BAR, "trial bar": History(3, 0.538, 0.001)}
    assert judge_plausible("0.538", "soft bar", history).fits == ()


@pytest.mark.parametrize(("typed", "words"), [("0.612", "plausible"), ("0.6121", "not plausible")])
def test_scatter_has_a_floor_and_the_threshold_itself_is_plausible(typed: str, words: str) -> None:
    """All lots read 0.600 to the digit: floor 0.003, four of it are 0.012."""
    exact = {"bar": History(20, 0.6, 0.0)}
    assert judge_plausible(typed, "bar", exact, z_limit=4.0000001).words == words


@given(VALUES)
@settings(derandomize=True, max_examples=60)
def test_history_is_the_median_and_the_scaled_mad(values: list[float]) -> None:
    """Against numpy, and scipy's own scaling of the median absolute deviation to a normal's s."""
    found = History.of(values)
    assert found.n == len(values)
    assert found.centre == pytest.approx(float(np.median(values)), rel=1e-12)
    assert found.s == pytest.approx(float(stats.median_abs_deviation(values, scale="normal")), rel=2e-5, abs=1e-15)


def test_slips_in_the_history_do_not_hide_the_next_one() -> None:
    """Three of twenty lots were mistyped; mean and standard deviation would call a fourth plausible."""
    values = [0.681 + 0.002 * math.sin(i) for i in range(17)] + [0.186, 0.168, 0.861]
    assert abs(0.618 - statistics.mean(values)) < 4 * statistics.stdev(values)
    assert judge_plausible("0.618", "bar", {"bar": History.of(values)}).words == "not plausible"


def test_at_most_three_siblings_are_named_the_nearest_first_and_the_hint_stays_short() -> None:
    siblings = {f"bar {'x' * 100} {i}": History(20, 0.9 + i / 1000, 0.01) for i in range(5)}
    found = judge_plausible("0.902", "soft bar", HISTORY | siblings)
    assert len(found.fits) == 3
    assert found.fits[0].endswith(" 2")
    assert len(found.hint) == 300


@pytest.mark.parametrize(
    ("limits", "field"),
    [
        ({"z_limit": 0}, "z_limit"),
        ({"s_floor": 0}, "s_floor"),
        ({"s_floor": math.nan}, "s_floor"),
        ({"least_lots": 1}, "least_lots"),
    ],
)
def test_limits_that_make_no_sense_are_refused(limits: dict[str, float], field: str) -> None:
    with pytest.raises(InputError) as refused:
        judge_plausible("0.6", "soft bar", HISTORY, **limits)  # type: ignore[arg-type]
    assert refused.value.field == field


def test_a_value_that_is_no_number_and_a_history_of_nothing_are_refused() -> None:
    with pytest.raises(InputError, match="a_w"):
        judge_plausible("wet", "soft bar", HISTORY)
    with pytest.raises(InputError, match="at least one value"):
        History.of([])
    with pytest.raises(InputError, match="finite"):
        History.of([0.6, math.nan])
    with pytest.raises(InputError, match="at least one lot"):
        History(0, 0.6, 0.1)
    with pytest.raises(InputError, match="s zero or more"):
        History(9, 0.6, -0.1)


def test_the_likelier_sibling_is_named_first() -> None:
    """0.56 is z 2 of a narrow product and z 0.5 of a wide one; the narrow one is twice as likely all the same."""
    siblings = {"bar": SOFT_BAR, "narrow": History(20, 0.550, 0.005), "wide": History(20, 0.600, 0.080)}
    densities = {name: stats.norm.pdf(0.56, one.centre, one.s) for name, one in siblings.items()}
    assert densities["narrow"] > densities["wide"]
    assert judge_plausible("0.560", "bar", siblings).fits == ("narrow", "wide")


def test_what_else_is_to_be_said_of_a_history_is_said() -> None:
    past = History(31, 0.632, 0.006, "historical, unverified")
    assert "(s 0.006, 31 lots, historical, unverified)" in judge_plausible("0.70", "bar", {"bar": past}).hint

"""Numbers and moments written by the thousand are those that Python writes one by one."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from isohume.outlets.site.charts.written import each, moments, spots, tenths

PLACES = st.floats(0.0, 999.9, allow_nan=False)
NEAR_HALF = st.builds(lambda n, ulps: float(n / 10 + 0.05 + ulps * 2.0**-46), st.integers(0, 9_000), st.integers(-9, 9))


@given(st.lists(PLACES | NEAR_HALF, min_size=1, max_size=40))
def test_tenths_are_rounded_as_python_rounds_them(values: list[float]) -> None:
    assert [f"{n / 10:.1f}" for n in tenths(np.array(values)).tolist()] == [f"{value:.1f}" for value in values]


@pytest.mark.parametrize("value", [0.25, 0.35, 2.675e2, 45.05, 45.15, 45.25, 0.05, 649.95, 0.0, 0.949999999999999])
def test_halves_of_a_tenth(value: float) -> None:
    """45.15 as a float lies below, 45.25 is a half and goes to the even one."""
    assert f"{tenths(np.array([value]))[0] / 10:.1f}" == f"{value:.1f}"


@pytest.mark.parametrize("between", [" ", "h0M", "m0 -3.4l3.2 5.6h-6.4zM"])
@pytest.mark.parametrize("values", [[3.04, 45.25, 699.96], [3.0, 1204.3], [], [0.0]])
def test_spots_say_the_same_numbers(values: list[float], between: str) -> None:
    x = tenths(np.array(values, dtype=float))
    said = spots(x, x[::-1], between)
    plain = between.join(f"{a:.1f} {b:.1f}" for a, b in zip(values, values[::-1], strict=True))
    assert re.sub(r"(?<![\d.])0+(?=\d)", "", said) == plain


@given(st.lists(st.floats(-0.5, 0.5), max_size=20))
def test_deviations_have_their_sign_and_a_true_minus(values: list[float]) -> None:
    assert each("%+.5f", values) == [f"{value:+.5f}".replace("-", "\N{MINUS SIGN}") for value in values]


@pytest.mark.parametrize(
    "zone", ["UTC", "Europe/London", "Asia/Kolkata", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia"]
)
def test_moments_are_those_of_the_plants_clock_also_where_it_is_changed(zone: str) -> None:
    """Two years by the half hour hold four changes of the clock, and half an hour's change at Lord Howe."""
    begin = datetime(2011, 6, 1, tzinfo=UTC)  # at Apia a day of December 2011 was left out
    at = [int((begin + timedelta(minutes=30 * n)).timestamp()) for n in range(2 * 366 * 48)]
    known = ZoneInfo(zone)
    plain = [datetime.fromtimestamp(second, known).strftime("%Y-%m-%d %H:%M") for second in at]
    assert moments(at, known) == plain


def test_no_moments() -> None:
    assert moments([], ZoneInfo("UTC")) == []
